package domain

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func shotOf(f ShotFields) *CountedShot { return &CountedShot{Shot: Shot{Fields: f}} }

func readAs(answer Answer) *CountedShot {
	s := shotOf(ShotFields{Outcome: Save})
	s.Reading = &Reading{Fields: ReadingFields{Habits: map[string]Answer{"on_angle": answer}}}
	return s
}

func TestClauseIsThreeValued(t *testing.T) {
	lowSave := shotOf(ShotFields{Outcome: Save, FinishBand: new(Low), BallXM: new(3.0), BallYM: new(4.0)})
	unknown := shotOf(ShotFields{Outcome: Wide})
	for _, c := range []struct {
		clause Clause
		shot   *CountedShot
		want   Truth
	}{
		{Clause{Field: "outcome", Is: "save"}, lowSave, True},
		{Clause{Field: "outcome", Is: "goal"}, lowSave, False},
		{Clause{Field: "outcome", In: []string{"goal", "save"}}, lowSave, True},
		{Clause{Field: "outcome", In: []string{"goal", "pipe"}}, lowSave, False},
		{Clause{Field: "on_goal", Is: true}, lowSave, True},
		{Clause{Field: "on_goal", Is: true}, unknown, False},
		{Clause{Field: "on_goal", Is: false}, unknown, True},
		{Clause{Field: "bounce", Is: false}, unknown, Unknown},
		{Clause{Field: "finish_band", Is: "low"}, lowSave, True},
		{Clause{Field: "finish_band", Is: "low"}, unknown, Unknown},
		{Clause{Field: "distance_m", LT: new(5.0)}, lowSave, False},
		{Clause{Field: "distance_m", LTE: new(5.0)}, lowSave, True},
		{Clause{Field: "distance_m", GT: new(5.0)}, lowSave, False},
		{Clause{Field: "distance_m", GTE: new(5.0)}, lowSave, True},
		{Clause{Field: "distance_m", GTE: new(5.0)}, unknown, Unknown},
		{Clause{Field: "on_angle", Is: "yes"}, readAs(Yes), True},
		{Clause{Field: "on_angle", Is: "yes"}, readAs(No), False},
		{Clause{Field: "on_angle", Is: "yes"}, readAs(NotSeen), Unknown},
		{Clause{Field: "on_angle", Is: "yes"}, lowSave, Unknown},
		{Clause{Field: "saw_release", Is: "yes"}, readAs(Yes), Unknown},
		{Clause{Field: "no_such_field", Is: "yes"}, lowSave, Unknown},
	} {
		assert.Equal(t, c.want, c.clause.Eval(c.shot), "%+v", c.clause)
	}
}

func TestAllIsFalseBeforeUnknownBeforeTrue(t *testing.T) {
	s := shotOf(ShotFields{Outcome: Save})
	yes, no := Clause{Field: "on_goal", Is: true}, Clause{Field: "on_goal", Is: false}
	unknown := Clause{Field: "bounce", Is: true}
	assert.Equal(t, True, All(nil, s))
	assert.Equal(t, True, All([]Clause{yes, yes}, s))
	assert.Equal(t, Unknown, All([]Clause{yes, unknown}, s))
	assert.Equal(t, False, All([]Clause{unknown, no}, s))
	assert.Equal(t, False, All([]Clause{no, unknown}, s))
	rapid.Check(t, func(t *rapid.T) {
		clauses := rapid.SliceOf(rapid.SampledFrom([]Clause{yes, no, unknown})).Draw(t, "clauses")
		swapped := rapid.Permutation(clauses).Draw(t, "swapped")
		assert.Equal(t, All(clauses, s), All(swapped, s), "the order does not matter")
	})
}

func TestClauseCheck(t *testing.T) {
	for _, good := range []Clause{
		{Field: "outcome", Is: "save"}, {Field: "bounce", Is: false}, {Field: "distance_m", LT: new(7.0)},
		{Field: "set_before_release", In: []string{"yes", "no"}},
	} {
		assert.Empty(t, good.Check(), "%+v", good)
	}
	for _, bad := range []Clause{
		{}, {Field: "outcome"}, {Field: "outcome", Is: "save", In: []string{"goal"}}, {Field: "what", Is: "save"},
		{Field: "outcome", Is: "saved"}, {Field: "outcome", Is: true}, {Field: "outcome", Is: 3.0},
		{Field: "outcome", In: []string{}}, {Field: "outcome", In: []string{"save", "x"}},
		{Field: "bounce", Is: "yes"}, {Field: "bounce", In: []string{"yes"}}, {Field: "outcome", LT: new(3.0)},
		{Field: "distance_m", Is: "far"}, {Field: "distance_m", LT: new(3.0), GT: new(1.0)},
		{Field: "set_before_release", Is: "not_seen"},
	} {
		assert.NotEmpty(t, bad.Check(), "%+v", bad)
	}
}

func TestClauseJSONRefusesWhatTheLanguageDoesNotHave(t *testing.T) {
	var c Clause
	require.NoError(t, json.Unmarshal([]byte(`{"field":"outcome","is":"save"}`), &c))
	assert.Equal(t, Clause{Field: "outcome", Is: "save"}, c)
	assert.Error(t, json.Unmarshal([]byte(`{"field":"outcome","not":"save"}`), &c))
	assert.Error(t, json.Unmarshal([]byte(`{"field":"distance_m","lt":"far"}`), &c))
}

func TestDistanceIsFromTheGoalLinesCentre(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y := rapid.Float64Range(-70, 70).Draw(t, "x"), rapid.Float64Range(-30, 130).Draw(t, "y")
		d := math.Hypot(x, y)
		s := shotOf(ShotFields{BallXM: &x, BallYM: &y})
		assert.Equal(t, True, Clause{Field: "distance_m", LTE: &d}.Eval(s))
		assert.Equal(t, False, Clause{Field: "distance_m", LT: &d}.Eval(s))
	})
}

// TestStrictKnowsEveryLetter: the standard decoder would take FIELD for field.
func TestStrictKnowsEveryLetter(t *testing.T) {
	for text, wrong := range map[string]bool{
		`{"field":"bounce","is":true}`: false, `{"field":"bounce","in":[]}`: false, `{"FIELD":"bounce","is":true}`: true,
		`{"field":"bounce","Is":true}`: true, `{"field":"bounce","is":true,"or":1}`: true,
	} {
		var c Clause
		require.Equal(t, wrong, json.Unmarshal([]byte(text), &c) != nil, text)
	}
}
