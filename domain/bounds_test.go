package domain

import (
	"encoding/json"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func programWith(change func(*JudgementSettings)) ProgramFields {
	f := ProgramFields{Name: "A", TimeZone: "America/New_York", Units: "yards"}
	change(&f.Judgement)
	return f
}

func TestBoundsThatAreRefused(t *testing.T) {
	program := func() ProgramFields { return programWith(func(*JudgementSettings) {}) }
	assert.Empty(t, program().Check())
	set := func(change func(*JudgementSettings)) func(*ProgramFields) {
		return func(f *ProgramFields) { change(&f.Judgement) }
	}
	refuses(t, program, map[string]func(*ProgramFields){
		"/judgement/margin":               set(func(s *JudgementSettings) { s.Margin = new(-0.01) }),
		"/judgement/too_wide":             set(func(s *JudgementSettings) { s.TooWide = new(1.0) }),
		"/judgement/clear_gap":            set(func(s *JudgementSettings) { s.ClearGap = new(0.49) }),
		"/judgement/clear_gap#under":      set(func(s *JudgementSettings) { s.ClearGap = new(0.7) }),
		"/judgement/clear_gap#both":       set(func(s *JudgementSettings) { s.ClearGap, s.LeaningBelow = new(0.8), new(0.85) }),
		"/judgement/clear_gap#digits":     set(func(s *JudgementSettings) { s.ClearGap = new(0.9125) }),
		"/judgement/clear_gap#no_number":  set(func(s *JudgementSettings) { s.ClearGap = new(math.NaN()) }),
		"/judgement/leaning_below":        set(func(s *JudgementSettings) { s.LeaningBelow = new(0.4) }),
		"/judgement/leaning_below#over":   set(func(s *JudgementSettings) { s.LeaningBelow = new(0.95) }),
		"/judgement/cant_tell":            set(func(s *JudgementSettings) { s.CantTell = new(0.6) }),
		"/judgement/cant_tell#under":      set(func(s *JudgementSettings) { s.CantTell = new(0.05) }),
		"/judgement/leaning_met":          set(func(s *JudgementSettings) { s.LeaningMet = new(0.0) }),
		"/judgement/leaning_met#over":     set(func(s *JudgementSettings) { s.LeaningMet = new(0.3) }),
		"/judgement/own_list":             set(func(s *JudgementSettings) { s.OwnList = new(0.6) }),
		"/judgement/board_list":           set(func(s *JudgementSettings) { s.BoardList = new(0.0) }),
		"/judgement/about_the_same":       set(func(s *JudgementSettings) { s.AboutTheSame = new(1.0) }),
		"/judgement/overtaken":            set(func(s *JudgementSettings) { s.Overtaken = new(0.3) }),
		"/judgement/assumed_worth":        set(func(s *JudgementSettings) { s.AssumedWorth = new(1.5) }),
		"/judgement/helped":               set(func(s *JudgementSettings) { s.Helped = new(0.0) }),
		"/judgement/page_alarms":          set(func(s *JudgementSettings) { s.PageAlarms = new(0.0) }),
		"/judgement/board_alarms#endless": set(func(s *JudgementSettings) { s.BoardAlarms = new(math.Inf(1)) }),
	})
	said := programWith(func(s *JudgementSettings) { s.ClearGap = new(0.7) }).Check()
	assert.Equal(t, []FieldError{{"/judgement/clear_gap", "must not be less than leaning_below, which is 0.75"}}, said)
	said = programWith(func(s *JudgementSettings) { s.LeaningBelow = new(0.95) }).Check()
	assert.Equal(t, []FieldError{{"/judgement/leaning_below", "must not be more than clear_gap, which is 0.9"}}, said)
}

func TestWhatIsNotSetIsTheServicesOwn(t *testing.T) {
	none := JudgementSettings{}
	assert.Empty(t, none.Set())
	for _, b := range BoundList {
		used := none.Bounds()
		assert.InDelta(t, b.Default, *b.use(&used), 0, b.Name)
		assert.True(t, b.Least <= b.Default && b.Default <= b.Most, b.Name)
	}
	some := JudgementSettings{ClearGap: new(0.95), Margin: new(0.0)}
	want := none.Bounds()
	want.ClearGap = 0.95
	assert.Equal(t, want, some.Bounds())
	require.Len(t, some.Set(), 2, "what is set to the service's own is set all the same")
	assert.Equal(t, "margin", some.Set()[0].Name)
	assert.Equal(t, "clear_gap", some.Set()[1].Name)
	assert.InDelta(t, 0.95, some.Set()[1].Value, 0)
}

// TestTheListOfBoundsIsTheStructs: each bound of the list reads and writes the members of its own name.
func TestTheListOfBoundsIsTheStructs(t *testing.T) {
	for _, b := range BoundList {
		var s JudgementSettings
		require.NoError(t, json.Unmarshal([]byte(`{"`+b.Name+`": 0.123}`), &s))
		require.Len(t, s.Set(), 1, b.Name)
		assert.Equal(t, b.Name, s.Set()[0].Name)
		raw, err := json.Marshal(s.Bounds())
		require.NoError(t, err)
		var members map[string]float64
		require.NoError(t, json.Unmarshal(raw, &members))
		assert.Len(t, members, len(BoundList))
		assert.InDelta(t, 0.123, members[b.Name], 0, b.Name)
	}
}

// TestTheReadmeTellsTheBounds holds the table of the README to the list.
func TestTheReadmeTellsTheBounds(t *testing.T) {
	readme, err := os.ReadFile("../README.md")
	require.NoError(t, err)
	told := map[string][]float64{}
	for line := range strings.Lines(string(readme)) {
		cells := strings.Split(line, " | ")
		if name, is := strings.CutPrefix(cells[0], "| `"); is && len(cells) == 4 && strings.Contains(cells[2], " to ") {
			for _, word := range strings.Split(cells[1]+" to "+cells[2], " to ") {
				v, err := strconv.ParseFloat(word, 64)
				require.NoError(t, err, line)
				told[strings.TrimSuffix(name, "`")] = append(told[strings.TrimSuffix(name, "`")], v)
			}
		}
	}
	assert.Len(t, told, len(BoundList))
	for _, b := range BoundList {
		assert.Equal(t, []float64{b.Default, b.Least, b.Most}, told[b.Name], b.Name)
	}
}

// anySettings draws settings whose every bound may be set, in and now and then out of its range.
func anySettings(t *rapid.T) JudgementSettings {
	doc := map[string]float64{}
	for _, b := range BoundList {
		if rapid.Bool().Draw(t, b.Name+" is set") {
			least, most := int(math.Round(1000*b.Least)), int(math.Round(1000*b.Most))
			doc[b.Name] = float64(rapid.IntRange(least-1, most+1).Draw(t, b.Name)) / 1000
		}
	}
	raw, err := json.Marshal(doc)
	require.NoError(t, err)
	var s JudgementSettings
	require.NoError(t, json.Unmarshal(raw, &s))
	return s
}

func TestAcceptedBoundsAreInOrder(t *testing.T) {
	accepted, refused := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		s := anySettings(t)
		faults := programWith(func(to *JudgementSettings) { *to = s }).Check()
		used := s.Bounds()
		inOrder := used.LeaningMet <= used.CantTell && used.CantTell <= used.LeaningBelow && used.LeaningBelow <= used.ClearGap
		inRange := true
		for _, b := range BoundList {
			v := *b.use(&used)
			inRange = inRange && v >= b.Least && v <= b.Most
		}
		if (len(faults) == 0) != (inOrder && inRange) {
			t.Fatalf("%+v: %v", used, faults)
		}
		if len(faults) == 0 {
			accepted++
		} else {
			refused++
		}
	})
	assert.Positive(t, accepted)
	assert.Positive(t, refused)
}
