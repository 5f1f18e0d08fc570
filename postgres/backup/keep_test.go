package backup_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cagework/postgres/backup"
)

var noon = time.Date(2026, 12, 1, 12, 0, 0, 0, time.UTC)

// kept makes a list, newest first, of backups so many days old; those given with a minus are not verified.
func kept(days ...int) []backup.Kept {
	var all []backup.Kept
	for _, d := range days {
		k := backup.Kept{MadeAt: noon.AddDate(0, 0, -max(d, -d)), Verified: &backup.Verified{}}
		if d < 0 {
			k.Verified = nil
		}
		all = append(all, k)
	}
	return all
}

func TestRetention(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		keep, days int
		all        []int
		gone       []int
	}{
		{0, 0, []int{0, 1, 900}, nil},
		{2, 0, []int{0, 1, 2, 3}, []int{2, 3}},
		{2, 0, []int{0, -1, 2, -3, 4}, []int{-3, 4}},
		{1, 0, []int{0}, nil},
		{0, 30, []int{0, 29, 30, 31, 32}, []int{31, 32}},
		{4, 30, []int{0, 29, 30, 31, 32}, []int{32}},
		{0, 30, []int{40, 50}, []int{50}},
		{0, 30, []int{-40, -50}, nil},
		{1, 0, []int{-1, -2, 40, -50}, []int{-50}},
		{2, 0, []int{1, -2, -3, -4}, nil},
	} {
		gone := backup.Retention{Keep: c.keep, Days: c.days}.Obsolete(kept(c.all...), noon)
		require.Equal(t, kept(c.gone...), gone, "%+v", c)
	}
}

// TestTheLastVerifiedNeverGoes tries any rule on any list.
func TestTheLastVerifiedNeverGoes(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		rule := backup.Retention{Keep: rapid.IntRange(0, 5).Draw(t, "keep"), Days: rapid.IntRange(0, 40).Draw(t, "days")}
		var days []int
		at := 0
		for _, step := range rapid.SliceOfN(rapid.IntRange(0, 20), 0, 12).Draw(t, "steps") {
			at += step
			days = append(days, at*(1-2*rapid.IntRange(0, 1).Draw(t, "unverified")))
		}
		all := kept(days...)
		gone := rule.Obsolete(all, noon)
		verified, stay := 0, 0
		for i, k := range all {
			if k.Verified == nil {
				continue
			}
			verified++
			if i < len(all)-len(gone) {
				stay++
			}
		}
		require.ElementsMatch(t, all[len(all)-len(gone):], gone, "only the oldest go")
		require.GreaterOrEqual(t, stay, min(verified, max(rule.Keep, 1)))
		for _, k := range gone {
			require.Greater(t, noon.Sub(k.MadeAt), time.Duration(rule.Days)*24*time.Hour)
		}
	})
}
