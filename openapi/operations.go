package openapi

import (
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"

	"go.yaml.in/yaml/v3"
)

// Operation is what the contract says of one operation.
type Operation struct {
	ID             string // operationId
	Method         string
	Path           string            // as in the contract: /v1/teams/{id}
	GinPath        string            // as Gin writes it: /v1/teams/:id
	Query          []string          // the names of its query parameters
	Media          []string          // the media types of its request body; none when it takes no body
	Body           *Shape            // how its JSON body (or each item of it) is put together
	BodyLimit      int64             // how many bytes its request body may have at most: x-body-limit
	Public         bool              // needs no token
	Noun, Verb     string            // x-noun and x-verb: what is asked of [cagework/domain.May]
	WhoMay         map[string]string // x-who-may: how far each role may do it
	Access         *AccessRule       // x-records-access: what is noted of it; nil for nothing
	PathExamples   map[string]string // the example of each path parameter
	RequestExample json.RawMessage   // an example of the request body, as JSON
	Statuses       []string          // the declared statuses, default last
}

// AccessRule is what the contract says of how an operation is noted in the record of who looked.
type AccessRule struct {
	Action string `yaml:"action"` // of the domain's list
	Record string `yaml:"record"` // what the id in its path is of; "any" when that shows in the answer, "" for a list
	Once   string `yaml:"once"`   // "hour", or "" for each time
}

// Operations gives every operation of the contract, ordered by path and method. The slice is shared: do not change it.
func Operations() ([]Operation, error) { return operations() }

var operations = sync.OnceValues(func() ([]Operation, error) { return parse(YAML) })

// The parts of a document that operations are read from.
type (
	document struct {
		Paths      map[string]pathItem `yaml:"paths"`
		Components components          `yaml:"components"`
	}
	components struct {
		Parameters map[string]parameter `yaml:"parameters"`
		Examples   map[string]example   `yaml:"examples"`
		Schemas    map[string]schema    `yaml:"schemas"`
	}
	schema struct {
		Ref        string            `yaml:"$ref"`
		Type       any               `yaml:"type"` // a word or a list of words
		OneOf      []schema          `yaml:"oneOf"`
		Items      *schema           `yaml:"items"`
		Required   []string          `yaml:"required"`
		Properties map[string]schema `yaml:"properties"`
		Additional yaml.Node         `yaml:"additionalProperties"`

		MaxProperties int `yaml:"maxProperties"`
		MaxItems      int `yaml:"maxItems"`
	}
	pathItem struct {
		Parameters []parameter           `yaml:"parameters"`
		Methods    map[string]*operation `yaml:",inline"`
	}
	operation struct {
		ID          string                 `yaml:"operationId"`
		Parameters  []parameter            `yaml:"parameters"`
		RequestBody body                   `yaml:"requestBody"`
		Responses   map[string]yaml.Node   `yaml:"responses"`
		Security    *[]map[string][]string `yaml:"security"`
		BodyLimit   string                 `yaml:"x-body-limit"`
		Noun        string                 `yaml:"x-noun"`
		Verb        string                 `yaml:"x-verb"`
		WhoMay      map[string]string      `yaml:"x-who-may"`
		Access      *AccessRule            `yaml:"x-records-access"`
	}
	parameter struct {
		Ref     string    `yaml:"$ref"`
		Name    string    `yaml:"name"`
		In      string    `yaml:"in"`
		Example yaml.Node `yaml:"example"` // of a path's parameter a string
	}
	body struct {
		Content map[string]media `yaml:"content"`
	}
	media struct {
		Schema   schema             `yaml:"schema"`
		Example  any                `yaml:"example"`
		Examples map[string]example `yaml:"examples"`
	}
	example struct {
		Ref   string `yaml:"$ref"`
		Value any    `yaml:"value"`
	}
)

var template = regexp.MustCompile(`\{(\w+)\}`)

func parse(text []byte) ([]Operation, error) {
	var doc document
	if err := yaml.Unmarshal(text, &doc); err != nil {
		return nil, err
	}
	var ops []Operation
	for _, path := range slices.Sorted(maps.Keys(doc.Paths)) {
		item := doc.Paths[path]
		for _, method := range slices.Sorted(maps.Keys(item.Methods)) {
			op, err := doc.operation(path, method, item)
			if err != nil {
				return nil, fmt.Errorf("%s %s: %w", method, path, err)
			}
			ops = append(ops, op)
		}
	}
	return ops, nil
}

func (d *document) operation(path, method string, item pathItem) (Operation, error) {
	said := item.Methods[method]
	op := Operation{
		ID:           said.ID,
		Method:       strings.ToUpper(method),
		Path:         path,
		GinPath:      template.ReplaceAllString(path, ":$1"),
		Media:        slices.Sorted(maps.Keys(said.RequestBody.Content)),
		Public:       said.Security != nil && len(*said.Security) == 0,
		Noun:         said.Noun,
		Verb:         said.Verb,
		WhoMay:       said.WhoMay,
		Access:       said.Access,
		PathExamples: map[string]string{},
		Statuses:     slices.Sorted(maps.Keys(said.Responses)), // digits sort before "default"
	}
	for _, p := range slices.Concat(item.Parameters, said.Parameters) {
		p, err := resolve(p, p.Ref, "parameters", d.Components.Parameters)
		if err != nil {
			return Operation{}, err
		}
		switch p.In {
		case "query":
			op.Query = append(op.Query, p.Name)
		case "path":
			op.PathExamples[p.Name] = p.Example.Value
		}
	}
	for _, m := range said.RequestBody.Content {
		body, err := d.members(m.Schema)
		if err != nil {
			return Operation{}, err
		}
		if op.Body, err = d.shape(body, 0); err != nil {
			return Operation{}, err
		}
	}
	var err error
	if op.BodyLimit, err = bodyLimit(said.BodyLimit, len(op.Media) > 0); err != nil {
		return Operation{}, err
	}
	op.RequestExample, err = d.requestExample(said.RequestBody)
	return op, err
}

// bodyLimit reads an x-body-limit. What takes no body bears a small one, as some clients send, and leaves it alone.
func bodyLimit(said string, takesBody bool) (int64, error) {
	switch {
	case !takesBody:
		return 4 << 10, nil
	case said == "":
		return 64 << 10, nil
	case said == "service":
		return math.MaxInt64, nil
	}
	return strconv.ParseInt(said, 10, 64)
}

// members gives the schema whose members a body has: its own, or those of its items when it is a list.
func (d *document) members(s schema) (schema, error) {
	found, err := resolve(s, s.Ref, "schemas", d.Components.Schemas)
	if err != nil || found.Items == nil {
		return found, err
	}
	return resolve(*found.Items, found.Items.Ref, "schemas", d.Components.Schemas)
}

func (s schema) nullable() bool {
	if words, many := s.Type.([]any); many && slices.Contains(words, any("null")) {
		return true
	}
	return s.Type == "null" || slices.ContainsFunc(s.OneOf, schema.nullable)
}

// requestExample gives the first example, by the name of the media type and then of the example.
func (d *document) requestExample(b body) (json.RawMessage, error) {
	for _, name := range slices.Sorted(maps.Keys(b.Content)) {
		m := b.Content[name]
		if m.Example != nil {
			return json.Marshal(m.Example)
		}
		for _, name := range slices.Sorted(maps.Keys(m.Examples)) {
			e, err := resolve(m.Examples[name], m.Examples[name].Ref, "examples", d.Components.Examples)
			if err != nil {
				return nil, err
			}
			return json.Marshal(e.Value)
		}
	}
	return nil, nil
}

// resolve follows a reference to a component; what has none stands for itself.
func resolve[T any](v T, ref, kind string, components map[string]T) (T, error) {
	if ref == "" {
		return v, nil
	}
	name, ok := strings.CutPrefix(ref, "#/components/"+kind+"/")
	found, there := components[name]
	if !ok || !there {
		return found, fmt.Errorf("there is no %s", ref)
	}
	return found, nil
}
