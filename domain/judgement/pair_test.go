package judgement

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cagework/domain"
)

// filmed is a shot on film from straight out front, low on the stick side off a feed, with the habit read blind.
func filmed(name string, outcome domain.Outcome, set domain.Answer, change func(*domain.CountedShot)) *domain.CountedShot {
	s := &domain.CountedShot{
		Game: game(1, "2026-04-11", domain.KindGame), Competition: comp,
		Shot: domain.Shot{ID: id(name), Fields: domain.ShotFields{
			Outcome: outcome, BallXM: new(0.0), BallYM: new(9.0), FinishBand: new(domain.Low),
			FinishSide: new(domain.StickSide), Arrival: new(domain.Arrival("feed")), FilmMs: new(1000),
		}},
		Reading: &domain.Reading{Fields: domain.ReadingFields{
			HowRead: domain.FilmBlind, Habits: map[string]domain.Answer{"set": set},
		}},
	}
	if change != nil {
		change(s)
	}
	return s
}

func setRate() domain.Target {
	t := named("set_rate", onGoal)
	t.Fields.Hit = []domain.Clause{{Field: "set", Is: "yes"}}
	return t
}

func pairsOf(expect Expect, shots ...*domain.CountedShot) Pairs {
	return PairsOf(RateOf(setRate(), Play{"mens_field", "college", domain.FacedRecords{Shots: shots}}, week, Defaults()), expect)
}

func TestPairsAreAlike(t *testing.T) {
	offSide := func(s *domain.CountedShot) { s.Shot.Fields.FinishSide = new(domain.OffSide) }
	far := func(s *domain.CountedShot) { s.Shot.Fields.BallXM = new(9.0) }
	p := pairsOf(nil,
		filmed("saved", domain.Save, domain.Yes, nil),
		filmed("off side", domain.Goal, domain.No, offSide),
		filmed("scored", domain.Goal, domain.No, nil),
		filmed("another area", domain.Goal, domain.No, far),
		filmed("no finish", domain.Goal, domain.No, func(s *domain.CountedShot) { s.Shot.Fields.FinishBand = nil }),
		filmed("saved without", domain.Save, domain.No, nil),
		filmed("scored with", domain.Goal, domain.Yes, nil),
		filmed("not seen", domain.Goal, domain.NotSeen, nil),
	)
	require.Len(t, p.Pairs, 1, "one with, saved: a shot is in a pair once")
	assert.Equal(t, id("saved"), p.Pairs[0].With.Shot.ID)
	assert.Equal(t, id("scored"), p.Pairs[0].Without.Shot.ID)
	assert.Equal(t, Alikeness{Side: true, Blind: true, Film: true}, p.Pairs[0].Alike)
	assert.Equal(t, "On the goals: missing on 4 of 5 read; on the saves: 1 of 2.", p.Sentence)
	assert.False(t, p.ResultMayHaveColoured)
}

func TestDifficultyIsComparedWhereItIsKnown(t *testing.T) {
	saved := filmed("saved", domain.Save, domain.Yes, nil)
	hard, like := filmed("a hard", domain.Goal, domain.No, nil), filmed("b like", domain.Goal, domain.No, nil)
	chances := map[domain.ID]float64{saved.Shot.ID: .6, hard.Shot.ID: .3, like.Shot.ID: .55}
	p := pairsOf(func(s *domain.CountedShot) (float64, bool) { return chances[s.Shot.ID], true }, saved, hard, like)
	require.Len(t, p.Pairs, 1)
	assert.Equal(t, like.Shot.ID, p.Pairs[0].Without.Shot.ID)
	assert.InDelta(t, .05, *p.Pairs[0].Alike.Difficulty, 1e-9)
	unknown := pairsOf(func(*domain.CountedShot) (float64, bool) { return 0, false }, saved, hard)
	require.Len(t, unknown.Pairs, 1)
	assert.Nil(t, unknown.Pairs[0].Alike.Difficulty)
}

func TestPairsAreThreeAtMostAndOnFilmFirst(t *testing.T) {
	var shots []*domain.CountedShot
	for _, name := range []string{"1", "2", "3", "4"} {
		change := func(s *domain.CountedShot) {
			if name == "1" {
				s.Shot.Fields.FilmMs = nil
			}
		}
		shots = append(shots, filmed("with "+name, domain.Save, domain.Yes, change), filmed("without "+name, domain.Goal, domain.No, nil))
	}
	p := pairsOf(nil, shots...)
	require.Len(t, p.Pairs, 3)
	for _, pair := range p.Pairs {
		assert.True(t, pair.Alike.Film)
	}
	turned := []*domain.CountedShot{shots[7], shots[2], shots[5], shots[0], shots[3], shots[6], shots[1], shots[4]}
	assert.Equal(t, p.Pairs, pairsOf(nil, turned...).Pairs, "the order given does not matter")
}

func TestReadingsThatKnewTheResultAreSaid(t *testing.T) {
	p := pairsOf(nil, filmed("saved", domain.Save, domain.Yes, func(s *domain.CountedShot) {
		s.Reading.Fields.HowRead = domain.Film
	}))
	assert.True(t, p.ResultMayHaveColoured)
	assert.Empty(t, p.Pairs)
	assert.Equal(t, "On the goals: missing on 0 of 0 read; on the saves: 0 of 1.", p.Sentence)
}

func TestPairsOfASaveRateShowTheSameShotSavedAndScored(t *testing.T) {
	target := named("low_save")
	r := RateOf(target, Play{"mens_field", "college", domain.FacedRecords{Shots: []*domain.CountedShot{
		filmed("saved", domain.Save, domain.Yes, nil), filmed("scored", domain.Goal, domain.Yes, nil),
	}}}, week, Defaults())
	p := PairsOf(r, nil)
	assert.Len(t, p.Pairs, 1)
	assert.Empty(t, p.Sentence)
	assert.False(t, p.ResultMayHaveColoured)
}
