package domain

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func reading(name string, how HowRead, rev int64) Reading {
	return Reading{ID: NameID(ID{}, name), Rev: rev, Fields: ReadingFields{HowRead: how}}
}

func TestCountedReading(t *testing.T) {
	assert.Nil(t, CountedReading(nil, nil))
	assert.Nil(t, CountedReading([]Reading{reading("a", Live, 1)}, nil), "live never counts")
	film, later, blind := reading("film", Film, 2), reading("later", Film, 3), reading("blind", FilmBlind, 9)
	assert.Equal(t, film, *CountedReading([]Reading{reading("live", Live, 1), later, film}, nil), "the first written")
	assert.Equal(t, blind, *CountedReading([]Reading{film, later, blind}, nil), "blind before film, however late")
	assert.Equal(t, later, *CountedReading([]Reading{film, later, blind}, &later.ID), "the one that was settled")
	gone := NameID(ID{}, "gone")
	assert.Equal(t, blind, *CountedReading([]Reading{film, later, blind}, &gone), "the settled one is gone")
}

func TestCountedReadingDoesNotHangOnTheOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var readings []Reading
		for i := range rapid.IntRange(0, 5).Draw(t, "n") {
			how := rapid.SampledFrom(HowReads).Draw(t, "how")
			readings = append(readings, reading(string(rune('a'+i)), how, rapid.Int64Range(1, 3).Draw(t, "rev")))
		}
		want := CountedReading(readings, nil)
		got := CountedReading(rapid.Permutation(readings).Draw(t, "order"), nil)
		require.Equal(t, want == nil, got == nil)
		if want != nil {
			assert.Equal(t, *want, *got)
		}
	})
}

func TestReadingCheck(t *testing.T) {
	good := func() ReadingFields {
		return ReadingFields{NameID(ID{}, "shot"), FilmBlind, map[string]Answer{"on_angle": NotSeen}}
	}
	assert.Empty(t, good().Check())
	refuses(t, good, map[string]func(*ReadingFields){
		"/shot_id":         func(f *ReadingFields) { f.ShotID = ID{} },
		"/how_read":        func(f *ReadingFields) { f.HowRead = "guess" },
		"/habits":          func(f *ReadingFields) { f.Habits = nil },
		"/habits/on_angle": func(f *ReadingFields) { f.Habits["on_angle"] = "maybe" },
		"/habits/On":       func(f *ReadingFields) { f.Habits = map[string]Answer{"On": Yes} },
	})
}
