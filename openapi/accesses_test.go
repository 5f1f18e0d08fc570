package openapi_test

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/openapi"
)

// ofGoalies are the nouns whose records tell something of a goalie, or of who was one.
var ofGoalies = []domain.Noun{
	domain.NounGoalie, domain.NounRosterSpell, domain.NounStint, domain.NounShot, domain.NounReading, domain.NounClear,
	domain.NounAssignment, domain.NounPracticeLog, domain.NounLine, domain.NounWeek, domain.NounChange, domain.NounExport,
	domain.NounErasure, domain.NounAccess,
}

// TestWhoLookedIsNoted holds every operation that shows a goalie's data to being noted: a goalie's own pages, history and
// export each time, all else once an hour.
func TestWhoLookedIsNoted(t *testing.T) {
	nouns := constants(t, "../domain", "Noun")
	for _, op := range operations(t) {
		shows := op.Method == "GET" && slices.Contains(ofGoalies, domain.Noun(op.Noun))
		if shows || op.Noun == "erasure" || op.Noun == "token" && op.Method != "GET" {
			require.NotNil(t, op.Access, "%s is not noted", op.ID)
		}
		if op.Access == nil {
			continue
		}
		assert.Contains(t, words(domain.AccessActions), op.Access.Action, op.ID)
		assert.Contains(t, []string{"", "hour"}, op.Access.Once, op.ID)
		assert.False(t, op.Public, op.ID)
		if of := op.Access.Record; of != "" && of != "any" && of != "program" {
			assert.Contains(t, nouns, of, op.ID)
			assert.Contains(t, op.Path, "/"+strings.ReplaceAll(of, "_", "-")+"s/{id}", "%s: whose id is in the path", op.ID)
		}
		assert.Equal(t, eachTime(op), op.Access.Once == "", op.ID)
		if strings.HasPrefix(op.ID, "list") && op.Access.Record == "" {
			assert.Equal(t, string(domain.AccessList), op.Access.Action, op.ID)
		}
	}
}

// eachTime tells whether what an operation does is noted each time.
func eachTime(op openapi.Operation) bool {
	goalie := strings.HasPrefix(op.Path, "/v1/goalies/{id}") || strings.HasPrefix(op.Path, "/v1/members/{id}/")
	return goalie || op.Noun == "change" || op.Noun == "token" || op.Noun == "sign_in_code"
}

// TestPartsOfAnAccessAgree holds the contract's entry to the domain's.
func TestPartsOfAnAccessAgree(t *testing.T) {
	raw := rawSchemas(t)
	for name, of := range map[string]reflect.Type{"Access": reflect.TypeFor[domain.Access](), "LostAccesses": reflect.TypeFor[domain.LostAccesses]()} {
		names, _ := jsonNames(of)
		assert.ElementsMatch(t, names, propertyNames(raw[name]), name)
		assert.ElementsMatch(t, names, requiredOf(raw[name]), name)
	}
}
