package openapi_test

import (
	"encoding/json"
	"math"
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
	assert.Equal(t, strings.Fields("limit cursor game_id goalie_id team_id season_id week unresolved"), list.Query)
	assert.Empty(t, list.Media)
	assert.Empty(t, list.RequestExample)
	assert.False(t, list.Public)

	patch := operation(t, "patchShot")
	assert.Equal(t, "/v1/shots/:id", patch.GinPath)
	assert.Equal(t, []string{"application/merge-patch+json"}, patch.Media)
	assert.Equal(t, "019ca6b1-dc00-7000-8000-000000000020", patch.PathExamples["id"])
	assert.JSONEq(t, `{"rebound": "held", "outlet": null}`, string(patch.RequestExample))
	assert.Equal(t, "shot", patch.Noun)
	assert.Equal(t, "write", patch.Verb)
	assert.Equal(t, strings.Fields("200 400 401 403 404 412 413 415 422 428 default"), patch.Statuses)

	assert.Empty(t, patch.Body.Required)
	assert.Equal(t, []string{"shot_id", "how_read", "habits"}, operation(t, "putReading").Body.Required)

	batch := operation(t, "putShots")
	assert.Equal(t, "POST", batch.Method)
	assert.Equal(t, []string{"id", "game_id", "outcome"}, batch.Body.Required, "of each item")
	for name, null := range map[string]bool{"deflected": false, "goalie_id": true, "phase": true} { // phase: a code or null
		assert.Equal(t, null, batch.Body.Members[name].Null, name)
	}
	assert.Equal(t, strings.Fields("207 400 401 403 413 415 default"), batch.Statuses)

	undo := operation(t, "undoChange")
	assert.Empty(t, undo.Body.Required)
	assert.JSONEq(t, `{}`, string(undo.RequestExample))
	assert.Equal(t, []string{"by", "from", "to", "season_id"}, operation(t, "listTeamLines").Query)

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

// TestBatchExampleIsOfPuts decodes the batch's example as the service does: each item with an id of its own.
func TestBatchExampleIsOfPuts(t *testing.T) {
	var items []domain.ShotItem
	require.NoError(t, json.Unmarshal(operation(t, "putShots").RequestExample, &items))
	require.Len(t, items, 2)
	assert.NotEqual(t, items[0].ID, items[1].ID)
	for _, item := range items {
		assert.False(t, item.ID.IsZero())
		assert.Empty(t, item.Check())
	}
}

// TestExamplesFitEachOther asks the domain what it asks when records meet: the examples of targets and readings name
// only habits that are there, and the shot cannot be faulted where it stands.
func TestExamplesFitEachOther(t *testing.T) {
	habits := append(domain.Starter(domain.ID{}).Habits, domain.Habit{Fields: example[domain.HabitFields](t, "putHabit")})
	target := example[domain.TargetFields](t, "putTarget")
	assert.Empty(t, domain.UnknownHabits("/of", target.Of, habits))
	assert.Empty(t, domain.UnknownHabits("/hit", target.Hit, habits))
	for code := range example[domain.ReadingFields](t, "putReading").Habits {
		assert.NotNil(t, domain.HabitNamed(habits, code), code)
	}

	shot, goalie := example[domain.ShotFields](t, "putShot"), example[domain.GoalieFields](t, "putGoalie")
	competition := example[domain.CompetitionFields](t, "putCompetition")
	stint := domain.Stint{Fields: example[domain.StintFields](t, "putStint")}
	place := domain.ShotPlace{
		Game: example[domain.GameFields](t, "putGame"), Competition: competition, Goalie: &goalie,
		Stints: []domain.Stint{stint},
	}
	found, faults := domain.FindShot(shot, competition, place.Stints)
	assert.Empty(t, faults)
	assert.Empty(t, shot.Contradictions(place))
	assert.Empty(t, shot.Warnings(found, place))
	after := domain.Shot{Fields: shot, Found: found}
	_, faults = domain.FindClear(example[domain.ClearFields](t, "putClear"), &after, competition, place.Stints)
	assert.Empty(t, faults)
}

func example[F any](t *testing.T, id string) F {
	t.Helper()
	var f F
	require.NoError(t, json.Unmarshal(operation(t, id).RequestExample, &f))
	return f
}

// TestStarterHabitsAreTold holds the list of the habits that every program starts with to those that it gets.
func TestStarterHabitsAreTold(t *testing.T) {
	told := component(t, "Habit").Description
	starter := domain.Starter(domain.ID{}).Habits
	for _, h := range starter {
		assert.Contains(t, told, "\n- `"+h.Fields.Code+"`: ")
	}
	assert.Equal(t, len(starter), strings.Count(told, "\n- `"))
}

// TestNounIsThePaths holds x-noun to where a plain record lies: all that can be done to it bears its one noun.
func TestNounIsThePaths(t *testing.T) {
	at := map[string]string{}
	for _, op := range operations(t) {
		if op.Method == "PUT" {
			noun := strings.ReplaceAll(strings.TrimSuffix(strings.TrimPrefix(op.Path, "/v1/"), "s/{id}"), "-", "_")
			assert.Equal(t, noun, op.Noun, op.ID)
			at[op.Path], at[strings.TrimSuffix(op.Path, "/{id}")] = noun, noun
		}
	}
	for _, op := range operations(t) {
		if noun, plain := at[op.Path]; plain {
			assert.Equal(t, noun, op.Noun, op.ID)
		}
	}
}

func TestOperationsSayHowLargeABodyMayBe(t *testing.T) {
	for id, limit := range map[string]int64{
		"signIn": 4096, "putDrill": 524288, "putGame": 65536, "putShots": math.MaxInt64, "mapClicks": math.MaxInt64, "getMe": 4096,
	} {
		assert.Equal(t, limit, operation(t, id).BodyLimit, id)
	}
	for _, op := range operations(t) {
		assert.Less(t, int64(len(op.RequestExample)), op.BodyLimit, op.ID)
	}
}
