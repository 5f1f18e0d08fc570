package domain

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var (
	teamA, teamB = NameID(ID{}, "team a"), NameID(ID{}, "team b")
	me, other    = NameID(ID{}, "me"), NameID(ID{}, "other")
)

func actor(role Role) Actor { return Actor{MemberID: me, Role: role, TeamIDs: []ID{teamA}} }

func TestEveryNounHasRights(t *testing.T) {
	for noun, verbs := range rights {
		if noun == NounSignInCode { // whoever may sign in may make a code for themselves, and nobody reads one again
			assert.Equal(t, ScopeProgram, ScopeOf(Viewer, Write, noun))
			assert.Equal(t, ScopeNone, ScopeOf(Director, Read, noun))
			continue
		}
		assert.NotEmpty(t, verbs[Read], noun)
		assert.Equal(t, ScopeProgram, ScopeOf(Director, Read, noun), noun)
		if noun != NounMe {
			assert.Equal(t, ScopeNone, ScopeOf(Viewer, Read, noun), noun)
		}
		assert.Equal(t, ScopeNone, ScopeOf(Viewer, Write, noun), noun)
		assert.Equal(t, ScopeNone, ScopeOf("stranger", Read, noun), noun)
	}
	assert.Equal(t, ScopeNone, ScopeOf(Director, Read, "secret"))
	assert.Equal(t, ScopeNone, ScopeOf(Director, Write, NounWeek), "a week is worked out, not written")
}

func TestMay(t *testing.T) {
	on := func(ids ...ID) Subject { return Subject{TeamIDs: ids} }
	for name, c := range map[string]struct {
		actor Actor
		verb  Verb
		noun  Noun
		on    Subject
		may   bool
	}{
		"director, any team":             {actor(Director), Write, NounShot, on(teamB), true},
		"coach, own team":                {actor(Coach), Write, NounShot, on(teamA), true},
		"coach, another team":            {actor(Coach), Write, NounShot, on(teamB), false},
		"coach, two teams":               {actor(Coach), Read, NounGoalie, on(teamB, teamA), true},
		"coach, nobody's team":           {actor(Coach), Write, NounGoalie, on(), false},
		"coach, no team yet":             {actor(Coach), Write, NounGoalie, Subject{nil, &me}, true},
		"coach, another's, no team yet":  {actor(Coach), Write, NounGoalie, Subject{nil, &other}, false},
		"recorder, nobody's team":        {actor(Recorder), Read, NounGoalie, on(), false},
		"director, nobody's team":        {actor(Director), Write, NounGoalie, on(), true},
		"coach's targets":                {actor(Coach), Read, NounTarget, on(), true},
		"coach writes a target":          {actor(Coach), Write, NounTarget, on(), false},
		"director fits":                  {actor(Director), Write, NounFit, on(), true},
		"coach reads a fit":              {actor(Coach), Read, NounFit, on(), true},
		"coach fits":                     {actor(Coach), Write, NounFit, on(), false},
		"recorder reads a fit":           {actor(Recorder), Read, NounFit, on(), false},
		"recorder, own team":             {actor(Recorder), Write, NounShot, on(teamA), true},
		"recorder reads a week":          {actor(Recorder), Read, NounWeek, on(teamA), false},
		"recorder writes a goalie":       {actor(Recorder), Write, NounGoalie, on(teamA), false},
		"recorder, own reading":          {actor(Recorder), Write, NounReading, Subject{[]ID{teamA}, &me}, true},
		"recorder, another's reading":    {actor(Recorder), Write, NounReading, Subject{[]ID{teamA}, &other}, false},
		"coach, another's reading":       {actor(Coach), Write, NounReading, Subject{[]ID{teamA}, &other}, true},
		"coach, reading in another team": {actor(Coach), Write, NounReading, Subject{[]ID{teamB}, &me}, false},
		"recorder, own team's clear":     {actor(Recorder), Write, NounClear, on(teamA), true},
		"recorder reads the habits":      {actor(Recorder), Read, NounHabit, on(), true},
		"coach writes a habit":           {actor(Coach), Write, NounHabit, on(), false},
		"coach assigns":                  {actor(Coach), Write, NounAssignment, on(teamA), true},
		"coach assigns in another team":  {actor(Coach), Write, NounAssignment, on(teamB), false},
		"recorder assigns":               {actor(Recorder), Write, NounAssignment, on(teamA), false},
		"coach logs a practice":          {actor(Coach), Write, NounPracticeLog, on(teamA), true},
		"recorder reads practices":       {actor(Recorder), Read, NounPracticeLog, on(teamA), false},
		"viewer's history":               {actor(Viewer), Read, NounChange, on(teamA), false},
		"viewer":                         {actor(Viewer), Read, NounGoalie, on(teamA), false},
		"viewer's own self":              {actor(Viewer), Read, NounMe, on(), true},
		"nobody":                         {Actor{}, Read, NounMe, on(), false},
	} {
		err := May(c.actor, c.verb, c.noun, c.on)
		if c.may {
			require.NoError(t, err, name)
			assert.NoError(t, MayAny(c.actor, c.verb, c.noun), name)
		} else {
			require.Error(t, err, name)
			assert.Equal(t, Forbidden, CodeOf(err), name)
		}
	}
}

func TestMayAny(t *testing.T) {
	require.NoError(t, MayAny(actor(Coach), Write, NounShot))
	err := MayAny(actor(Viewer), Write, NounRosterSpell)
	assert.Equal(t, Forbidden, CodeOf(err))
	assert.Contains(t, err.Error(), "roster spell")
}
