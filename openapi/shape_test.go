package openapi

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func shapeOf(t *testing.T, text string) (*Shape, error) {
	t.Helper()
	ops, err := parse([]byte(`
openapi: 3.1.1
paths:
  /x:
    put:
      operationId: x
      requestBody: {content: {application/json: {schema: {$ref: '#/components/schemas/Body'}}}}
      responses: {}
components:
  schemas:
    Code: {type: string}
    Body: ` + text))
	if err != nil {
		return nil, err
	}
	return ops[0].Body, nil
}

func TestTheShapeOfABody(t *testing.T) {
	body, err := shapeOf(t, `
      type: object
      additionalProperties: false
      required: [name]
      properties:
        name: {$ref: '#/components/schemas/Code'}
        maybe: {type: [string, 'null']}
        code: {oneOf: [{$ref: '#/components/schemas/Code'}, {type: 'null'}]}
        within: {oneOf: [{type: object, properties: {a: {type: integer}}}, {type: 'null'}]}
        list: {type: array, maxItems: 3, items: {type: object, additionalProperties: false, properties: {b: {type: integer}}}}
        any: {type: object, maxProperties: 2, additionalProperties: {oneOf: [{type: integer}, {type: 'null'}]}}
`)
	require.NoError(t, err)
	assert.False(t, body.Null)
	assert.Equal(t, []string{"name"}, body.Lacks([]string{"maybe"}))
	for name, null := range map[string]bool{"name": false, "maybe": true, "code": true, "within": true, "list": false, "any": false} {
		member, known := body.Member(name)
		assert.True(t, known, name)
		assert.Equal(t, null, member.Null, name)
	}
	_, known := body.Member("other")
	assert.False(t, known)

	a, known := body.Members["within"].Member("a")
	assert.True(t, known)
	assert.False(t, a.Null)
	_, known = body.Members["within"].Member("b")
	assert.True(t, known, "an object that is not closed")
	assert.Equal(t, 3, body.Members["list"].Most)
	_, known = body.Members["list"].Item().Member("a")
	assert.False(t, known)
	assert.Equal(t, 2, body.Members["any"].Most)
	value, known := body.Members["any"].Member("whatever")
	assert.True(t, known)
	assert.True(t, value.Null)
}

func TestAShapeWithoutEndIsRefused(t *testing.T) {
	_, err := shapeOf(t, `{type: object, properties: {again: {$ref: '#/components/schemas/Body'}}}`)
	require.ErrorContains(t, err, "contains itself")
	_, err = shapeOf(t, `{type: object, properties: {x: {$ref: '#/components/schemas/Nobody'}}}`)
	require.ErrorContains(t, err, "there is no")
}

// TestEveryBodySaysWhatItHolds: an object that the contract leaves open would take anything.
func TestEveryBodySaysWhatItHolds(t *testing.T) {
	ops, err := Operations()
	require.NoError(t, err)
	bodies := 0
	for _, op := range ops {
		if op.Body == nil {
			continue
		}
		bodies++
		walk(op.Body, op.ID, func(s *Shape, at string) {
			assert.True(t, s.Members == nil || s.Closed || at == "signIn", "%s has members of any name", at)
			assert.True(t, s.Values == nil && s.Items == nil || s.Most > 0, "%s has any number of members or items", at)
		})
	}
	assert.Greater(t, bodies, 40)
}

func walk(s *Shape, at string, see func(*Shape, string)) {
	see(s, at)
	for name, member := range s.Members {
		walk(member, at+"/"+name, see)
	}
	for _, each := range []*Shape{s.Values, s.Items} {
		if each != nil {
			walk(each, at+"/*", see)
		}
	}
}
