package api_test

import (
	"encoding/json"
	"fmt"
	"maps"
	"math/rand/v2"
	"net/http"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"

	"cagework/domain"
	"cagework/openapi"
)

// contract is openapi.yaml as it stands, references and all.
var contract = sync.OnceValues(func() (map[string]any, error) {
	var doc map[string]any
	return doc, yaml.Unmarshal(openapi.YAML, &doc)
})

// node is a part of the contract.
type node = map[string]any

// maker makes requests from the contract. It draws everything from rng, so that the same seed makes the same requests.
type maker struct {
	doc   node
	round *round
	rng   *rand.Rand
	edge  float64 // the chance that a value lies on the edge of what its schema allows, or just beyond
	foul  float64 // the chance that a value has nothing to do with its schema
	fresh int     // how many ids were made up
}

func newMaker(t testing.TB, r *round, rng *rand.Rand) *maker {
	t.Helper()
	doc, err := contract()
	require.NoError(t, err)
	return &maker{doc: doc, round: r, rng: rng}
}

func (m *maker) chance(p float64) bool { return m.rng.Float64() < p }

// pick draws one of some things.
func pick[T any](m *maker, of ...T) T { return of[m.rng.IntN(len(of))] }

// at follows a path of names through the contract, and the reference at its end.
func (m *maker) at(n node, names ...string) node {
	for _, name := range names {
		next, _ := n[name].(node)
		n = m.resolved(next)
	}
	return n
}

func (m *maker) resolved(n node) node {
	ref, ok := n["$ref"].(string)
	if !ok {
		return n
	}
	return m.at(m.doc, strings.Split(strings.TrimPrefix(ref, "#/"), "/")...)
}

// operation gives what the contract says of an operation.
func (m *maker) operation(op openapi.Operation) node {
	return m.at(m.doc, "paths", op.Path, strings.ToLower(op.Method))
}

// parameters gives the schemas of an operation's query parameters.
func (m *maker) parameters(op openapi.Operation) map[string]node {
	found := map[string]node{}
	here, _ := m.operation(op)["parameters"].([]any)
	above, _ := m.at(m.doc, "paths", op.Path)["parameters"].([]any)
	for _, p := range slices.Concat(above, here) {
		p := m.resolved(p.(node))
		if p["in"] == "query" {
			found[p["name"].(string)] = m.at(p, "schema")
		}
	}
	return found
}

// value makes the JSON of a value of a schema. name is that of the member that it is for.
func (m *maker) value(schema node, name string, depth int) string {
	schema = m.resolved(schema)
	if m.chance(m.foul) {
		return m.foulValue()
	}
	if either, ok := schema["oneOf"].([]any); ok {
		return m.value(pick(m, either...).(node), name, depth)
	}
	if only, ok := schema["const"]; ok {
		return jsonOf(only)
	}
	if codes, ok := schema["enum"].([]any); ok {
		return jsonOf(pick(m, codes...))
	}
	kind, ok := schema["type"].(string)
	if !ok {
		kinds, many := schema["type"].([]any)
		if !many {
			return pick(m, "true", `"save"`, "1", "null")
		}
		kind, _ = pick(m, kinds...).(string)
	}
	switch kind {
	case "object":
		return m.object(schema, depth)
	case "array":
		return m.array(schema, name, depth)
	case "string":
		return m.text(schema, name)
	case "integer", "number":
		return m.number(schema, kind == "integer")
	case "boolean":
		return pick(m, "true", "false")
	}
	return "null"
}

func (m *maker) object(schema node, depth int) string {
	var members []string
	properties, _ := schema["properties"].(node)
	required, _ := schema["required"].([]any)
	for _, name := range slices.Sorted(maps.Keys(properties)) {
		needed := slices.Contains(required, any(name))
		if needed && !m.chance(m.edge/4) || !needed && m.chance(.4) {
			members = append(members, fmt.Sprintf("%q:%s", name, m.value(properties[name].(node), name, depth+1)))
		}
	}
	if more, ok := schema["additionalProperties"].(node); ok && depth < 6 {
		for range m.rng.IntN(4) {
			members = append(members, fmt.Sprintf("%q:%s", pick(m, "set_before_release", "on_angle", "saw_release"),
				m.value(more, "", depth+1)))
		}
	}
	return "{" + strings.Join(members, ",") + "}"
}

func (m *maker) array(schema node, name string, depth int) string {
	least, most := intOf(schema["minItems"], 0), intOf(schema["maxItems"], 3)
	n := least + m.rng.IntN(min(most-least, 3)+1)
	if m.chance(m.edge) {
		n = pick(m, least, max(least-1, 0), most, most+1)
	}
	var items []string
	of, _ := schema["items"].(node)
	for range n {
		items = append(items, m.value(of, strings.TrimSuffix(name, "s"), depth+1))
	}
	return "[" + strings.Join(items, ",") + "]"
}

func (m *maker) text(schema node, name string) string {
	switch schema["format"] {
	case "uuid":
		return jsonOf(m.idFor(strings.TrimSuffix(strings.TrimSuffix(name, "s"), "_id")))
	case "date":
		return jsonOf(pick(m, "2026-04-08", "2026-04-09", "2025-12-31", "2024-02-29", "1900-01-01", "2200-12-31"))
	case "date-time":
		return jsonOf(pick(m, "2026-04-08T10:00:00Z", "2099-12-31T23:59:59Z", "2026-04-08T10:00:00.123456+05:30"))
	}
	if schema["pattern"] != nil && !m.chance(m.edge) {
		return jsonOf(fmt.Sprintf("code_%d", m.rng.IntN(1_000_000)))
	}
	least, most := intOf(schema["minLength"], 0), intOf(schema["maxLength"], 200)
	n := pick(m, least, least+1, min(most, 12))
	if m.chance(m.edge) {
		n = pick(m, max(least-1, 0), most, most+1)
	}
	return jsonOf(strings.Repeat(pick(m, "a", "é", "球", "😀", " ", "e\u0301"), n))
}

func (m *maker) number(schema node, whole bool) string {
	low, high := floatOf(schema["minimum"], -1000), floatOf(schema["maximum"], 1000)
	v := low + m.rng.Float64()*(high-low)
	if m.chance(m.edge) {
		v = pick(m, low, high, low-1, high+1, low-.001, high+.001, 0)
	}
	if whole {
		return fmt.Sprintf("%.0f", v)
	}
	return fmt.Sprintf("%.3f", v)
}

// idFor gives an id where one of a noun is wanted: most often that of the world's record.
func (m *maker) idFor(noun string) string {
	if path, ok := m.round.world.put[noun]; ok && m.chance(.85) {
		return idIn(path)
	}
	if m.chance(.5) {
		if path := m.anyPath(); path != "" {
			return idIn(path)
		}
	}
	m.fresh++
	return domain.NameID(m.round.world.seed, fmt.Sprint("fresh ", m.fresh)).String()
}

// anyPath gives the path of some record of the world.
func (m *maker) anyPath() string {
	paths := slices.Sorted(maps.Values(m.round.world.put))
	return pick(m, paths...)
}

// written gives the schema of an operation's body in the media type that it takes first, or nil.
func (m *maker) written(op openapi.Operation) node {
	if len(op.Media) == 0 || op.Method == http.MethodGet {
		return nil
	}
	return m.at(m.operation(op), "requestBody", "content", op.Media[0], "schema")
}

func jsonOf(v any) string {
	text, err := json.Marshal(v)
	if err != nil {
		return "null"
	}
	return string(text)
}

func intOf(v any, otherwise int) int {
	if n, ok := v.(int); ok {
		return n
	}
	return otherwise
}

func floatOf(v any, otherwise float64) float64 {
	switch n := v.(type) {
	case int:
		return float64(n)
	case float64:
		return n
	}
	return otherwise
}
