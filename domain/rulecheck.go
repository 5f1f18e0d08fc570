package domain

import (
	"fmt"
	"slices"
	"strings"
)

// MaxDoseMinutes is the longest that a drill takes at a time.
const MaxDoseMinutes = 60

// CheckRule says why a rule may never give what it says, among all rules, targets and drills of the program. These are
// no faults: the rule can be written, for its drill may come later. A rule that is switched off is not asked, so there
// is nothing to say.
func CheckRule(rule Rule, all []Rule, targets []Target, drills []Drill) []FieldError {
	if !rule.Fields.Active {
		return []FieldError{}
	}
	l := ruleLint{checks{faults: []FieldError{}}, rule, all, targets, drills}
	l.namesWhatIsThere()
	l.fitsItsDrill()
	l.keepsToTheCaps()
	l.canBeTried()
	l.canFire()
	l.isHeard()
	return l.faults
}

type ruleLint struct {
	checks
	rule    Rule
	all     []Rule
	targets []Target
	drills  []Drill
}

func recordOf[F, K any](records []Record[F, K], id *ID) *F {
	for i := range records {
		if id != nil && records[i].ID == *id {
			return &records[i].Fields
		}
	}
	return nil
}

// namesWhatIsThere finds targets and drills that are missing or switched off.
func (l *ruleLint) namesWhatIsThere() {
	f := l.rule.Fields
	l.activeTarget("/target_id", f.TargetID)
	if f.DrillID != nil {
		drill := recordOf(l.drills, f.DrillID)
		l.when(drill == nil, "/drill_id", "there is no such drill")
		l.when(drill != nil && !drill.Active, "/drill_id", "the drill is switched off")
	}
	for i := range f.AfterDrillIDs {
		l.when(recordOf(l.drills, &f.AfterDrillIDs[i]) == nil, fmt.Sprintf("/after_drill_ids/%d", i), "there is no such drill")
	}
	for i := range f.AlsoShortIDs {
		l.activeTarget(fmt.Sprintf("/also_short_ids/%d", i), &f.AlsoShortIDs[i])
	}
	for i := range f.NotShortIDs {
		l.activeTarget(fmt.Sprintf("/not_short_ids/%d", i), &f.NotShortIDs[i])
	}
}

func (l *ruleLint) activeTarget(pointer string, id *ID) {
	if id == nil {
		return
	}
	target := recordOf(l.targets, id)
	l.when(target == nil, pointer, "there is no such target")
	l.when(target != nil && !target.Active, pointer, "the target is switched off, so it is never judged")
}

// fitsItsDrill finds levels and codes of play that the drill is not for.
func (l *ruleLint) fitsItsDrill() {
	f := l.rule.Fields
	drill := recordOf(l.drills, f.DrillID)
	if drill == nil {
		return
	}
	for i, level := range f.Levels {
		l.when(!slices.Contains(drill.Levels, level), fmt.Sprintf("/levels/%d", i), "the drill is not for %s", level)
	}
	for i, code := range f.CodesOfPlay {
		l.when(!slices.Contains(drill.CodesOfPlay, code), fmt.Sprintf("/codes_of_play/%d", i), "the drill is not for %s", code)
	}
}

// keepsToTheCaps finds a dose that no practice has room for.
func (l *ruleLint) keepsToTheCaps() {
	f := l.rule.Fields
	l.when(f.Minutes > MaxDoseMinutes, "/minutes", "is over %d minutes a time", MaxDoseMinutes)
	drill := recordOf(l.drills, f.DrillID)
	if drill == nil {
		return
	}
	for _, level := range f.Levels {
		most := StarterBudgets[level].Session
		l.when(drill.BallAt(level) == BallLive && f.Repetitions > most, "/repetitions",
			"is over the %d live shots a practice that %s starts with", most, level)
	}
}

// canBeTried finds prerequisites that no rule gives, so that nobody would be told to practise them.
func (l *ruleLint) canBeTried() {
	f := l.rule.Fields
	if len(f.AfterDrillIDs) == 0 {
		return
	}
	given := slices.ContainsFunc(l.all, func(other Rule) bool {
		o := other.Fields
		return other.ID != l.rule.ID && o.Active && o.DrillID != nil && slices.Contains(f.AfterDrillIDs, *o.DrillID) &&
			(o.TargetID == nil || f.TargetID == nil || *o.TargetID == *f.TargetID)
	})
	l.when(!given, "/after_drill_ids", "no rule for the same target gives one of these drills")
}

// canFire finds conditions that never hold together.
func (l *ruleLint) canFire() {
	f := l.rule.Fields
	l.when(!slices.ContainsFunc(f.States, func(s State) bool { return slices.Contains(States, s) }), "/states",
		"it speaks in no state")
	l.when(!slices.Contains(SeasonParts, f.SeasonPart), "/season_part", "it speaks in no part of the season")
	l.when(f.OnlyShort && len(f.AlsoShortIDs) > 0, "/only_short", "no other target may fall short, and yet one of also_short_ids must")
	for i, id := range f.NotShortIDs {
		own := f.TargetID != nil && *f.TargetID == id
		l.when(own && !slices.ContainsFunc(f.States, func(s State) bool { return s != ClearGap }),
			fmt.Sprintf("/not_short_ids/%d", i), "it speaks only while its own target is a clear gap")
	}
	if !l.judged() {
		l.add("/target_id", "the target has no rate to reach for any of the rule's levels and codes of play")
	}
}

// judged tells whether the target, or any target where the rule names none, has a rate somewhere where the rule speaks.
func (l *ruleLint) judged() bool {
	f := l.rule.Fields
	target := recordOf(l.targets, f.TargetID)
	if f.TargetID != nil && target == nil {
		return true // said already
	}
	return slices.ContainsFunc(l.targets, func(t Target) bool {
		if f.TargetID != nil && t.ID != *f.TargetID || f.TargetID == nil && !t.Fields.Active {
			return false
		}
		return slices.ContainsFunc(t.Fields.Rates, func(r TargetRate) bool {
			return slices.Contains(f.Levels, r.Level) && slices.Contains(f.CodesOfPlay, r.CodeOfPlay)
		})
	})
}

// isHeard finds an earlier rule that speaks whenever this one would.
func (l *ruleLint) isHeard() {
	for _, other := range l.all {
		if other.ID != l.rule.ID && l.drowns(other) {
			l.add("/priority", "the rule %q comes first whenever this one could speak", shortened(other.Fields.Name))
			return
		}
	}
}

func shortened(name string) string {
	if runes := []rune(name); len(runes) > 60 {
		return strings.TrimSpace(string(runes[:60])) + "…"
	}
	return name
}

// drowns tells whether an earlier rule speaks whenever this one would, and the gates can hold back neither without the
// other. A rule that asks for other practice before it is the next step after the earlier one, not in its way.
func (l *ruleLint) drowns(other Rule) bool {
	e, f := other.Fields, l.rule.Fields
	return e.Active && e.Priority < f.Priority && samePlace(e, f) && sameTried(e, f) && looser(e, f) && !l.lighter(f, e)
}

func samePlace(e, f RuleFields) bool {
	sameTarget := e.TargetID == nil && f.TargetID == nil || e.TargetID != nil && f.TargetID != nil && *e.TargetID == *f.TargetID
	return sameTarget && within(f.States, e.States) && within(f.Levels, e.Levels) && within(f.CodesOfPlay, e.CodesOfPlay) &&
		(e.SeasonPart == AnyPart || e.SeasonPart == f.SeasonPart)
}

// sameTried tells whether both ask for the same practice before.
func sameTried(e, f RuleFields) bool {
	return within(e.AfterDrillIDs, f.AfterDrillIDs) && within(f.AfterDrillIDs, e.AfterDrillIDs) &&
		e.AfterSessions == f.AfterSessions && e.AfterBlocks == f.AfterBlocks
}

// looser tells whether what e asks of other targets and of the goalie holds whenever what f asks does.
func looser(e, f RuleFields) bool {
	also := len(e.AlsoShortIDs) == 0 || len(f.AlsoShortIDs) > 0 && within(f.AlsoShortIDs, e.AlsoShortIDs)
	return also && within(e.NotShortIDs, f.NotShortIDs) && (!e.OnlyShort || f.OnlyShort) && (!e.ForShy || f.ForShy)
}

// lighter tells whether a may still be given where the gates hold b back: it sends a softer ball, asks for less effort,
// takes less time or needs no team.
func (l *ruleLint) lighter(a, b RuleFields) bool {
	x, y := recordOf(l.drills, a.DrillID), recordOf(l.drills, b.DrillID)
	switch {
	case y == nil:
		return b.DrillID != nil // a drill that is missing is never given
	case !y.Active:
		return true
	case x == nil:
		return true // mere advice goes through every gate
	}
	softer := slices.Index(Balls, x.Ball) < slices.Index(Balls, y.Ball) || len(x.SoftLevels) > len(y.SoftLevels)
	return softer || slices.Index(Efforts, x.Effort) < slices.Index(Efforts, y.Effort) || y.Team && !x.Team ||
		a.Minutes < b.Minutes || a.WeekMinutes() < b.WeekMinutes() || a.Repetitions < b.Repetitions ||
		!fitsAll(*y, a)
}

// fitsAll tells whether the drill is for everyone for whom the rule speaks.
func fitsAll(d DrillFields, f RuleFields) bool {
	return within(f.Levels, d.Levels) && within(f.CodesOfPlay, d.CodesOfPlay)
}

// within tells whether every one of a is one of b.
func within[T comparable](a, b []T) bool {
	return !slices.ContainsFunc(a, func(v T) bool { return !slices.Contains(b, v) })
}
