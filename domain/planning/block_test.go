package planning

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cagework/domain"
	"cagework/domain/judgement"
)

// block is an assignment that starts on the Monday of a week of 2026.
func block(weekNumber, weeks int, target, drill string, status domain.AssignmentStatus) domain.Assignment {
	return domain.Assignment{ID: idOf("assigned " + target + drill), Fields: domain.AssignmentFields{
		TargetID: idOf(target), DrillID: idOf(drill), Dose: domain.Dose{Minutes: 5, Repetitions: 12, TimesAWeek: 2},
		StartsOn: domain.Week{Year: 2026, Number: weekNumber}.Monday(), Weeks: weeks, Status: status,
	}}
}

func TestAWorkOnIsKeptForItsBlock(t *testing.T) {
	n := need(domain.Full, 100)
	n.Rates = append(n.Rates, rate("high", 2, domain.CantTell, .1))
	for name, c := range map[string]struct {
		block domain.Assignment
		state domain.State
		want  *Kept
	}{
		"in its second week": {block(14, 3, "high", "film", domain.Assigned), domain.CantTell, &Kept{2, 3}},
		"in its last":        {block(13, 3, "high", "film", domain.Assigned), domain.LeaningMet, &Kept{3, 3}},
		"from next week":     {block(16, 2, "high", "film", domain.Assigned), domain.CantTell, &Kept{1, 2}},
		"too few":            {block(14, 3, "high", "film", domain.Assigned), domain.TooFew, &Kept{2, 3}},
		"over":               {block(12, 3, "high", "film", domain.Assigned), domain.CantTell, nil},
		"from a later week":  {block(17, 3, "high", "film", domain.Assigned), domain.CantTell, nil},
		"met":                {block(14, 3, "high", "film", domain.Assigned), domain.Met, nil},
		"dropped":            {block(14, 3, "high", "film", domain.Dropped), domain.CantTell, nil},
		"finished":           {block(14, 3, "high", "film", domain.Finished), domain.CantTell, nil},
		"another target's":   {block(14, 3, "gone", "film", domain.Assigned), domain.CantTell, nil},
	} {
		n.Assignments = []domain.Assignment{c.block}
		n.Rates[1].State = &c.state
		plan := MakePlan(n)
		if c.want == nil {
			require.Len(t, plan.WorkOns, 1, name)
			assert.Nil(t, plan.WorkOns[0].Block, name)
			continue
		}
		require.Len(t, plan.WorkOns, 2, name)
		first := plan.WorkOns[0]
		assert.Equal(t, c.want, first.Block, name)
		require.Len(t, first.Drills, 1, name)
		assert.Equal(t, 12, first.Drills[0].Dose.Repetitions, "the coach's dose")
		assert.Nil(t, first.Drills[0].Rule)
	}
}

// dropped is an assignment of the shots for low that was dropped.
func dropped(weekNumber, weeks int) domain.Assignment {
	a := block(weekNumber, weeks, "low", "shots", domain.Dropped)
	a.Fields.Reason = new("no wall")
	return a
}

func TestWhatWasDroppedElsewhereIsNotHeldBack(t *testing.T) {
	for name, change := range map[string]func(*domain.Assignment){
		"for another target": func(a *domain.Assignment) { a.Fields.TargetID = idOf("high") },
		"another drill":      func(a *domain.Assignment) { a.Fields.DrillID = idOf("film") },
		"its weeks are over": func(a *domain.Assignment) { *a = dropped(13, 2) },
		"from a later week":  func(a *domain.Assignment) { *a = dropped(17, 2) },
		"finished":           func(a *domain.Assignment) { a.Fields.Status = domain.Finished },
	} {
		n, a := need(domain.Full, 60), dropped(15, 2)
		change(&a)
		n.Assignments = []domain.Assignment{a}
		assert.Equal(t, "shots", drillsOf(MakePlan(n))[0], name)
	}
	n := need(domain.Full, 60)
	n.Assignments = []domain.Assignment{dropped(15, 2), block(15, 2, "low", "shots", domain.Assigned)}
	assert.Equal(t, "shots", drillsOf(MakePlan(n))[0], "what the coach assigns anew stands")
	n.Rules, n.Assignments = n.Rules[2:], n.Assignments[:1]
	plan := MakePlan(n)
	require.Len(t, plan.WorkOns, 1, "the work-on stays, without a drill")
	assert.Empty(t, drillsOf(plan))
}

func TestBlocks(t *testing.T) {
	target := domain.Target{ID: idOf("low"), Fields: domain.TargetFields{
		Weeks: 2, Kinds: []domain.GameKind{domain.KindGame}, Hit: []domain.Clause{{Field: "outcome", Is: "save"}},
		Rates: []domain.TargetRate{{CodeOfPlay: "mens_field", Level: "college", Rate: .5}},
	}}
	shot := func(on string, outcome domain.Outcome) *domain.CountedShot {
		return &domain.CountedShot{
			Game:        domain.Game{Fields: domain.GameFields{PlayedOn: day(t, on), Kind: domain.KindGame}},
			Competition: domain.CompetitionFields{CodeOfPlay: "mens_field", Level: "college"},
			Shot:        domain.Shot{Fields: domain.ShotFields{Outcome: outcome}},
		}
	}
	faced := domain.FacedRecords{Shots: []*domain.CountedShot{
		shot("2026-03-15", domain.Save), // before the look-back
		shot("2026-03-16", domain.Save), shot("2026-03-29", domain.Goal), shot("2026-03-30", domain.Save), shot("2026-04-12", domain.Save),
	}}
	r := domain.WeekRecords{
		Week: week, Targets: []domain.Target{target}, Drills: []domain.Drill{drill("film", domain.BallNone, domain.Easy)}, Faced: faced,
		Assignments: []domain.Assignment{
			block(14, 3, "low", "film", domain.Assigned), block(10, 2, "gone", "gone", domain.Finished),
			block(14, 3, "low", "x", domain.Dropped), block(11, 2, "low", "y", domain.Assigned), block(16, 2, "low", "z", domain.Assigned),
			block(17, 2, "low", "later", domain.Assigned), block(13, 2, "low", "long ago", domain.Dropped), block(16, 1, "low", "refused", domain.Dropped),
		},
		Logs: []domain.PracticeLog{logged(1, "film"), logged(8, "film", "film"), logged(9, "other")},
	}
	r.Assignments[4].Found.Baselines = &[]domain.BlockBaseline{
		{CodeOfPlay: "mens_field", Level: "college", From: day(t, "2026-03-30"), To: day(t, "2026-04-12"), Hits: 3, Tries: 7, Unseen: 1},
		{CodeOfPlay: "mens_field", Level: "14u", From: day(t, "2026-03-30"), To: day(t, "2026-04-12"), Hits: 1, Tries: 2},
	}
	blocks := Blocks(r, judgement.Plays(faced))
	var shown []string
	for _, b := range blocks {
		shown = append(shown, fmt.Sprint(b.Assignment.Fields.StartsOn, " ", b.Assignment.Fields.Status, " ", len(b.Counts)))
	}
	assert.ElementsMatch(t, []string{
		"2026-04-13 assigned 2", "2026-04-13 dropped 0", "2026-03-30 assigned 1", "2026-03-30 dropped 0", "2026-03-09 assigned 1", "2026-03-02 finished 0",
	}, shown, "without what begins later and what was dropped for weeks that are over")
	assert.IsDecreasing(t, []string{shown[0][:10], shown[2][:10], shown[4][:10], shown[5][:10]}, "newest first")
	b := of("z", blocks)
	assert.False(t, b.Begun)
	assert.Equal(t, []int{1, 0, 4}, []int{b.Week, b.SoFar, b.Planned})
	assert.Nil(t, b.Counts[0].Since)
	assert.EqualValues(t, "14u", b.Counts[0].Level, "of which no shot is left")
	assert.Equal(t, []any{day(t, "2026-03-30"), day(t, "2026-04-12"), 3, 7, 1}, []any{b.Counts[1].Before.From, b.Counts[1].Before.To,
		b.Counts[1].Before.Tally.Hits, b.Counts[1].Before.Tally.Tries, b.Counts[1].Before.Tally.Unseen}, "as it was kept, not as it is")
	assert.Equal(t, &(*b.Assignment.Found.Baselines)[0], b.Counts[1].Baseline)
	b = of("film", blocks)
	assert.Equal(t, []int{2, 2, 4, 6}, []int{b.Week, b.Practices, b.SoFar, b.Planned})
	assert.True(t, b.Begun)
	assert.False(t, b.Over)
	require.Len(t, b.Counts, 1)
	assert.Nil(t, b.Counts[0].Baseline, "nothing was kept")
	assert.Equal(t, []int{1, 2}, []int{b.Counts[0].Before.Tally.Hits, b.Counts[0].Before.Tally.Tries})
	assert.Equal(t, []int{2, 2}, []int{b.Counts[0].Since.Tally.Hits, b.Counts[0].Since.Tally.Tries})
	b = of("y", blocks)
	assert.Equal(t, "2026-03-22", b.Counts[0].Since.To.String(), "its last day")
	assert.Equal(t, []int{2, 2}, []int{b.Counts[0].Since.Tally.Hits, b.Counts[0].Since.Tally.Tries}, "not what came after its weeks")
	assert.True(t, b.Over, "its weeks are over though nobody said so")
	b = of("gone", blocks)
	assert.True(t, b.Over)
	assert.Nil(t, b.Target)
	assert.Nil(t, b.Drill)
}

// of gives the block of a drill.
func of(drill string, blocks []Block) Block {
	return blocks[slices.IndexFunc(blocks, func(b Block) bool { return b.Assignment.Fields.DrillID == idOf(drill) })]
}

func TestAPracticeCountsForOneBlock(t *testing.T) {
	first, second := block(13, 3, "low", "film", domain.Assigned), block(14, 3, "high", "film", domain.Assigned)
	other, refused := block(15, 2, "low", "shadow", domain.Assigned), block(15, 2, "mid", "film", domain.Dropped)
	ended := block(12, 1, "low", "film", domain.Dropped)
	ended.ID = idOf("ended")
	r := domain.WeekRecords{Week: week, Assignments: []domain.Assignment{refused, second, other, first, ended}}
	for _, on := range []string{"2026-03-18", "2026-03-23", "2026-03-29", "2026-03-30", "2026-04-06", "2026-04-12"} {
		l := logged(1, "film", "film")
		l.Fields.PractisedOn = day(t, on)
		r.Logs = append(r.Logs, l)
	}
	want := map[domain.ID]int{first.ID: 2, second.ID: 3, other.ID: 0, refused.ID: 0, ended.ID: 1}
	for _, a := range r.Assignments {
		assert.Equal(t, want[a.ID], practices(a, r), a.Fields.StartsOn.String())
	}
	twin := second
	twin.ID = domain.NameID(idOf("twin"), "")
	r.Assignments = append(r.Assignments, twin)
	assert.ElementsMatch(t, []int{0, 3}, []int{practices(second, r), practices(twin, r)})
	last := second
	if compareAssignments(twin, second) > 0 {
		last = twin
	}
	assert.Equal(t, 3, practices(last, r), "of two begun together the last id")
}

// Whatever the blocks, each practice of a drill counts once where a block of the drill holds its day, else never.
func TestEveryPracticeCountsOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var n Need
		inventPastOf(t, &n)
		r := domain.WeekRecords{Week: week, Assignments: n.Assignments, Logs: n.Logs}
		got, want := 0, 0
		for _, a := range r.Assignments {
			got += practices(a, r)
		}
		for _, l := range r.Logs {
			drills := map[domain.ID]bool{}
			for _, d := range l.Fields.Done {
				drills[d.DrillID] = true
			}
			for drill := range drills {
				if slices.ContainsFunc(r.Assignments, func(a domain.Assignment) bool {
					return a.Fields.DrillID == drill && within(l.Fields.PractisedOn, a.Fields.StartsOn, a.Fields.EndsOn())
				}) {
					want++
				}
			}
		}
		if got != want {
			t.Fatalf("%d practices count, of %d", got, want)
		}
	})
}

// inventPastOf draws blocks of few drills over the same weeks, and practices of those.
func inventPastOf(t *rapid.T, n *Need) {
	drills := rapid.SampledFrom(inventedDrills[:2])
	for i := range rapid.IntRange(0, 5).Draw(t, "blocks") {
		a := block(rapid.IntRange(11, 15).Draw(t, "starts"), rapid.IntRange(1, 4).Draw(t, "weeks"), "ta", drills.Draw(t, "drill"),
			rapid.SampledFrom(domain.AssignmentStatuses).Draw(t, "status"))
		a.ID = idOf(fmt.Sprint("block ", i))
		n.Assignments = append(n.Assignments, a)
	}
	for range rapid.IntRange(0, 8).Draw(t, "logs") {
		l := logged(1, rapid.SliceOfN(drills, 0, 3).Draw(t, "done")...)
		l.Fields.PractisedOn = week.Sunday().AddDays(-rapid.IntRange(0, 40).Draw(t, "ago"))
		n.Logs = append(n.Logs, l)
	}
}
