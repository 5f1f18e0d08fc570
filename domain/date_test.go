package domain

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func dateOf(t require.TestingT, s string) Date {
	d, err := ParseDate(s)
	require.NoError(t, err)
	return d
}

// The days around new year are the well-known edge cases of ISO 8601 weeks.
func TestWeekOf(t *testing.T) {
	for day, want := range map[string]string{
		"2005-01-01": "2004-W53", "2005-01-02": "2004-W53", "2005-12-31": "2005-W52", "2006-01-01": "2005-W52",
		"2006-01-02": "2006-W01", "2007-01-01": "2007-W01", "2008-12-28": "2008-W52", "2008-12-29": "2009-W01",
		"2009-12-31": "2009-W53", "2010-01-03": "2009-W53", "2010-01-04": "2010-W01", "2026-04-12": "2026-W15",
		"2026-12-31": "2026-W53", "2027-01-03": "2026-W53",
	} {
		assert.Equal(t, want, WeekOf(dateOf(t, day)).String(), day)
	}
	w := Week{2026, 15}
	assert.Equal(t, "2026-04-06", w.Monday().String())
	assert.Equal(t, "2026-04-12", w.Sunday().String())
}

func TestParseWeekRefuses(t *testing.T) {
	for _, bad := range []string{"", "2026-15", "2026-W5", "2026-W00", "2026-W54", "2025-W53", "2026-w15", "2026-W15 ", "26-W15", "2026-W-1"} {
		_, err := ParseWeek(bad)
		assert.Error(t, err, bad)
	}
	w, err := ParseWeek("2026-W53")
	require.NoError(t, err)
	assert.Equal(t, Week{2026, 53}, w)
}

func TestParseDateRefuses(t *testing.T) {
	for _, bad := range []string{"", "2026-02-29", "2026-2-1", "2026-02-01T00:00:00Z", "01/02/2026", "2026-13-01"} {
		_, err := ParseDate(bad)
		assert.Error(t, err, bad)
	}
	assert.Equal(t, Date{2028, time.February, 29}, dateOf(t, "2028-02-29"))
}

func TestDateOfKeepsTheZonesDay(t *testing.T) {
	zone := time.FixedZone("far west", -11*3600)
	assert.Equal(t, Date{2026, time.April, 11}, DateOf(time.Date(2026, 4, 12, 3, 0, 0, 0, time.UTC).In(zone)))
}

func TestDatesAndWeeksRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := Date{1900, 1, 1}.AddDays(rapid.IntRange(0, 110000).Draw(t, "days"))
		w := WeekOf(d)
		if d.Before(w.Monday()) || w.Sunday().Before(d) || w.Monday().Time().Weekday() != time.Monday {
			t.Fatalf("%v does not lie in %v", d, w)
		}
		if w.Monday().AddDays(6) != w.Sunday() || WeekOf(w.Sunday().AddDays(1)) == w {
			t.Fatalf("%v has no seven days", w)
		}
		raw, err := json.Marshal(struct {
			D Date
			W Week
		}{d, w})
		require.NoError(t, err)
		var back struct {
			D Date
			W Week
		}
		require.NoError(t, json.Unmarshal(raw, &back))
		assert.Equal(t, d, back.D)
		assert.Equal(t, w, back.W)
		n := rapid.IntRange(-1000, 1000).Draw(t, "n")
		assert.Equal(t, d, d.AddDays(n).AddDays(-n))
	})
}
