package openapi_test

import (
	"encoding/json"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/pb33f/go-yaml"
	"github.com/pb33f/libopenapi-validator/config"
	"github.com/pb33f/libopenapi-validator/schema_validation"
	"github.com/pb33f/libopenapi/datamodel/high/base"
	v3 "github.com/pb33f/libopenapi/datamodel/high/v3"
	"github.com/pb33f/libopenapi/orderedmap"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cagework/openapi"
)

// TestEveryExampleFitsItsSchema walks every body, parameter and header: each has an example, and it fits.
func TestEveryExampleFitsItsSchema(t *testing.T) {
	fits := schema_validation.NewSchemaValidator(config.WithFormatAssertions())
	checked := map[string]bool{}
	check := func(at string, schema *base.SchemaProxy, one *yaml.Node, many *orderedmap.Map[string, *base.Example]) {
		nodes := map[string]*yaml.Node{}
		if one != nil {
			nodes["example"] = one
		}
		for name, example := range many.FromOldest() {
			nodes[name] = example.Value
		}
		assert.NotEmpty(t, nodes, "%s has no example", at)
		for name, node := range nodes {
			ok, faults := fits.ValidateSchemaBytes(schema.Schema(), asJSON(t, node))
			if !ok {
				for _, f := range faults {
					for _, s := range f.SchemaValidationErrors {
						t.Errorf("%s, %s: %s", at, name, s.Reason)
					}
				}
			}
			assert.True(t, ok, "%s, %s", at, name)
			checked[at+name] = true
		}
	}
	content := func(at string, media *orderedmap.Map[string, *v3.MediaType]) {
		for name, m := range media.FromOldest() {
			check(at+" "+name, m.Schema, m.Example, m.Examples)
		}
	}
	headers := func(at string, all *orderedmap.Map[string, *v3.Header]) {
		for name, h := range all.FromOldest() {
			check(at+" "+name, h.Schema, h.Example, h.Examples)
		}
	}
	eachOperation(model(t), func(name string, item *v3.PathItem, op *v3.Operation) {
		for _, p := range slices.Concat(item.Parameters, op.Parameters) {
			check(name+" "+p.Name, p.Schema, p.Example, p.Examples)
		}
		if op.RequestBody != nil {
			content(name, op.RequestBody.Content)
		}
		for status, r := range op.Responses.Codes.FromOldest() {
			content(name+" "+status, r.Content)
			headers(name+" "+status, r.Headers)
		}
		content(name+" default", op.Responses.Default.Content)
	})
	assert.Greater(t, len(checked), 500)
}

// TestExamplesTellOneStory holds the examples of a noun to each other: the id of the path is the id of the record,
// the record is what was put, and the changed record is the record with the patch merged into it.
func TestExamplesTellOneStory(t *testing.T) {
	examples := map[string]map[string]any{}
	for name, e := range model(t).Components.Examples.FromOldest() {
		var value any
		require.NoError(t, json.Unmarshal(asJSON(t, e.Value), &value), name)
		if object, is := value.(map[string]any); is {
			examples[name] = object
		}
	}
	puts := 0
	for _, op := range operations(t) {
		noun, ok := strings.CutPrefix(op.ID, "put")
		if !ok || op.Method != "PUT" {
			continue
		}
		puts++
		record, fields := examples[noun], examples[noun+"Fields"]
		assert.Equal(t, op.PathExamples["id"], record["id"], noun)
		for name, value := range fields {
			assert.Equal(t, value, record[name], "%s.%s", noun, name)
		}
		assert.Equal(t, []any{record}, examples[noun+"Page"]["items"], noun)

		if patch, ok := examples[noun+"Patch"]; ok {
			want := merge(record, patch)
			got := maps.Clone(examples[noun+"Patched"])
			assert.Greater(t, got["rev"], record["rev"], noun)
			got["rev"] = record["rev"]
			assert.Equal(t, want, got, noun)
			assert.NotEqual(t, record, got, "%s: the patch changes nothing", noun)
		}
	}
	assert.Equal(t, 20, puts)
}

// merge merges a patch as RFC 7396 says, but keeps a cleared field of the record as null, as responses do.
func merge(record, patch map[string]any) map[string]any {
	out := maps.Clone(record)
	for name, value := range patch {
		inner, isObject := value.(map[string]any)
		if old, was := out[name].(map[string]any); isObject && was {
			merged := maps.Clone(old)
			for k, v := range inner {
				if merged[k] = v; v == nil {
					delete(merged, k)
				}
			}
			value = merged
		}
		out[name] = value
	}
	return out
}

func asJSON(t *testing.T, node *yaml.Node) []byte {
	t.Helper()
	var value any
	require.NoError(t, node.Decode(&value))
	out, err := json.Marshal(value)
	require.NoError(t, err)
	return out
}

func operations(t *testing.T) []openapi.Operation {
	t.Helper()
	ops, err := openapi.Operations()
	require.NoError(t, err)
	return ops
}
