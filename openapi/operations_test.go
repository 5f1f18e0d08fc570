package openapi_test

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	v3 "github.com/pb33f/libopenapi/datamodel/high/v3"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/openapi"
)

func operation(t *testing.T, id string) openapi.Operation {
	t.Helper()
	ops := operations(t)
	i := slices.IndexFunc(ops, func(op openapi.Operation) bool { return op.ID == id })
	require.GreaterOrEqual(t, i, 0, id)
	return ops[i]
}

func TestOperationsOfTheContract(t *testing.T) {
	declared := map[string]string{}
	eachOperation(model(t), func(name string, _ *v3.PathItem, op *v3.Operation) {
		declared[op.OperationId] = strings.ToUpper(name[:strings.Index(name, " ")]) + name[strings.Index(name, " "):]
	})
	read := map[string]string{}
	for _, op := range operations(t) {
		read[op.ID] = op.Method + " " + op.Path
	}
	assert.Equal(t, declared, read)
}

func TestOperationHasItsParts(t *testing.T) {
	list := operation(t, "listShots")
	assert.Equal(t, []string{"limit", "cursor", "goalie_id", "game_id"}, list.Query)
	assert.Empty(t, list.Media)
	assert.Empty(t, list.RequestExample)
	assert.True(t, list.Session)
	assert.False(t, list.Public)

	patch := operation(t, "patchShot")
	assert.Equal(t, "/v1/shots/:id", patch.GinPath)
	assert.Equal(t, []string{"application/merge-patch+json"}, patch.Media)
	assert.Equal(t, "019ca6b1-dc00-7000-8000-000000000020", patch.PathExamples["id"])
	assert.JSONEq(t, `{"rebound": "held", "outlet": null}`, string(patch.RequestExample))
	assert.Equal(t, "shot", patch.Noun)
	assert.Equal(t, "write", patch.Verb)
	assert.False(t, patch.Session)
	assert.Equal(t, []string{"200", "400", "401", "403", "404", "412", "413", "415", "422", "428", "default"}, patch.Statuses)

	assert.Empty(t, patch.Required)
	assert.Equal(t, []string{"shot_id", "how_read", "habits"}, operation(t, "putReading").Required)

	week := operation(t, "getGoalieWeek")
	assert.Equal(t, "/v1/goalies/:id/weeks/:week", week.GinPath)
	assert.Equal(t, "2026-W15", week.PathExamples["week"])

	form := operation(t, "signIn")
	assert.True(t, form.Public)
	assert.Equal(t, []string{"application/x-www-form-urlencoded"}, form.Media)
}

// TestWhoMay holds each operation to the domain's one table of rights.
func TestWhoMay(t *testing.T) {
	nouns := constants(t, "../domain", "Noun")
	inContract := map[string]bool{}
	for _, op := range operations(t) {
		if !strings.HasPrefix(op.Path, "/v1/") {
			assert.True(t, op.Public, op.ID)
			assert.Empty(t, op.Noun, op.ID)
			continue
		}
		assert.False(t, op.Public, op.ID)
		assert.Equal(t, op.Method == "GET", op.Session, "%s: a cookie is good for reading only", op.ID)
		assert.Contains(t, nouns, op.Noun, op.ID)
		inContract[op.Noun] = true
		wantVerb := domain.Write
		if op.Method == "GET" {
			wantVerb = domain.Read
		}
		assert.Equal(t, string(wantVerb), op.Verb, op.ID)
		want := map[string]string{}
		for _, role := range domain.Roles {
			want[string(role)] = string(domain.ScopeOf(role, wantVerb, domain.Noun(op.Noun)))
		}
		assert.Equal(t, want, op.WhoMay, op.ID)
	}
	assert.Len(t, inContract, len(nouns), "every noun of the table has an operation")
}

// TestWhoMayIsSaid holds the sentence at the end of each description to x-who-may.
func TestWhoMayIsSaid(t *testing.T) {
	said := map[string]string{ // director, coach, recorder, viewer
		"program none none none":          "Only a director may do this.",
		"program program program none":    "Every member but a viewer may do this.",
		"program program none none":       "Directors and coaches may do this.",
		"program own own none":            "A director may do this anywhere in the program, coaches and recorders within their own teams.",
		"program own none none":           "A director may do this anywhere in the program, a coach within their own teams.",
		"program program program program": "Every member may do this.",
	}
	who := map[string]string{}
	for _, op := range operations(t) {
		var scopes []string
		for _, role := range domain.Roles {
			scopes = append(scopes, op.WhoMay[string(role)])
		}
		who[op.ID] = strings.Join(scopes, " ")
	}
	eachOperation(model(t), func(name string, _ *v3.PathItem, op *v3.Operation) {
		if !strings.Contains(name, " /v1/") {
			return
		}
		sentence, ok := said[who[op.OperationId]]
		if assert.True(t, ok, "%s: no sentence for %q", name, who[op.OperationId]) {
			assert.Contains(t, op.Description, sentence, name)
		}
	})
}

// TestPutExamplesPassTheDomainsChecks decodes each example as the service does and asks the domain.
func TestPutExamplesPassTheDomainsChecks(t *testing.T) {
	for noun, blank := range fieldsOf {
		f := blank()
		require.NoError(t, json.Unmarshal(operation(t, "put"+noun).RequestExample, f), noun)
		assert.Empty(t, f.Check(), noun)
	}
}
