package summary

import (
	"fmt"
	"slices"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/domain/planning"
)

// WorkOn is a thing to work on this week: in words, with its count, the shots to look at and the drills.
type WorkOn struct {
	Target   Rate        `json:"target"`
	Cue      string      `json:"cue"`
	Sentence string      `json:"sentence"`
	Why      string      `json:"why"`
	Order    string      `json:"order"` // why it stands where it stands
	Worth    Worth       `json:"worth"`
	Habit    *HabitWorth `json:"habit"` // what the habit that the target asks for goes with; null for other targets, and without a fit
	Kept     *string     `json:"kept"`  // that it is kept for its block, and which week of it; null when no block runs
	Watch    []WatchShot `json:"watch"`
	Pairs    Pairs       `json:"pairs"`
	Drills   []WeekDrill `json:"drills"` // at most two; none when no rule gives one, or every one was held back
}

// Worth is what closing a gap is expected to be worth, in goals a game of its code of play and level.
type Worth struct {
	GoalsAGame  float64 `json:"goals_a_game"` // beside the work-ons before it, a shot in several of them saved once
	Alone       float64 `json:"alone"`        // by itself
	Share       float64 `json:"share"`        // of all gaps that were weighed, on the average over all orders
	ChanceFirst float64 `json:"chance_first"` // that of all of them it costs the most
	GoalsATry   float64 `json:"goals_a_try"`  // what a hit is worth
	Assumed     bool    `json:"assumed"`      // that this is a starting value from memory and not measured
}

// HabitWorth is how saves go with a habit on shots as hard: an association, no proof.
type HabitWorth struct {
	Readings int                `json:"readings"` // that it stands on, of all goalies of the code of play and level
	HowRead  domain.HowRead     `json:"how_read"` // film_blind: only readings made before the result was known
	Enough   bool               `json:"enough"`
	Saves    judgement.Interval `json:"saves_a_shot"` // more where the habit was read; all zero without enough
	Goals    judgement.Interval `json:"goals_a_game"` // fewer, when the habit moves from where it is to its target
	Warning  string             `json:"warning"`
	Sentence string             `json:"sentence"`
}

// Pairs is what the goalie's shots show of a work-on side by side.
type Pairs struct {
	Pairs    []ShotPair `json:"pairs"`    // at most three
	Sentence string     `json:"sentence"` // on how many goals and saves the hit was missing; "" where it would say nothing
	Coloured bool       `json:"coloured"` // some of the readings were made with the result known
}

// ShotPair is two shots that came alike: one with the hit there and saved, one without it and scored.
type ShotPair struct {
	With     WatchShot `json:"with"`
	Without  WatchShot `json:"without"`
	SameSide bool      `json:"same_side"` // they finished on the same side too
	Apart    *float64  `json:"apart"`     // how far their expected chances of a save are apart; null when not known
}

// WatchShot is a shot to look at on film, with what finds it there.
type WatchShot struct {
	ShotID   domain.ID      `json:"shot_id"`
	GameID   domain.ID      `json:"game_id"`
	PlayedOn domain.Date    `json:"played_on"`
	Opponent *string        `json:"opponent"`
	Period   *int           `json:"period"`
	ClockS   *int           `json:"clock_s"`
	FilmMs   *int           `json:"film_ms"`
	Outcome  domain.Outcome `json:"outcome"`
	Note     string         `json:"note"` // missed or made: whether it was a hit of the target
}

// WeekDrill is a recommended drill in the dose of the rule that gave it or of the coach's assignment.
type WeekDrill struct {
	DrillID      domain.ID     `json:"drill_id"`
	Code         string        `json:"code"`
	Name         string        `json:"name"`
	Purpose      string        `json:"purpose"`
	SetUp        string        `json:"set_up"`
	Kit          string        `json:"kit"`
	Ball         domain.Ball   `json:"ball"` // at the goalie's level
	Effort       domain.Effort `json:"effort"`
	Team         bool          `json:"team"` // it needs field players
	Minutes      int           `json:"minutes"`
	Repetitions  int           `json:"repetitions"`
	TimesAWeek   int           `json:"times_a_week"`
	WeekMinutes  int           `json:"week_minutes"`
	Cautions     []string      `json:"cautions"`
	NextStep     string        `json:"next_step"`
	Advice       string        `json:"advice"` // the rule's, beside the drill
	Notes        []string      `json:"notes"`  // when not to do it
	RuleID       *domain.ID    `json:"rule_id"`
	Rule         *string       `json:"rule"`          // its name; null with rule_id: the coach assigned the drill
	AssignmentID *domain.ID    `json:"assignment_id"` // null: a rule gave it
}

// What a shot to watch was.
const (
	Missed = "missed"
	Made   = "made"
)

// watchEach is how many shots of each sort there are to watch.
const watchEach = 2

func (j judging) workOnsOf(plan planning.Plan, faces shownRates, plays []judgement.Play, habits []domain.Habit) []WorkOn {
	out := make([]WorkOn, len(plan.WorkOns))
	for i, w := range plan.WorkOns {
		out[i] = WorkOn{
			Target: faces.of(w.Rate), Cue: w.Rate.Target.Fields.Cue,
			Sentence: sentence(w.Rate), Why: why(w), Order: w.Why, Worth: worthOf(w.Gap),
			Habit: j.habitWorth(w.Rate, plays, habits),
			Watch: watch(w.Rate, plays), Pairs: pairsOf(judgement.PairsOf(w.Rate, j.expect(w.Rate))),
			Drills: make([]WeekDrill, len(w.Drills)),
		}
		if w.Block != nil {
			kept := fmt.Sprintf("Kept for its block, week %d of %d.", w.Block.Week, w.Block.Of)
			out[i].Kept = &kept
		}
		for k, d := range w.Drills {
			out[i].Drills[k] = drillOf(d)
		}
	}
	return out
}

func worthOf(g judgement.Gap) Worth {
	return Worth{g.Adds, g.Goals, g.Share, g.First, g.Value.Goals, g.Value.Assumed}
}

func (j judging) habitWorth(r judgement.Rate, plays []judgement.Play, habits []domain.Habit) *HabitWorth {
	for _, p := range plays {
		if p.CodeOfPlay != r.CodeOfPlay || p.Level != r.Level {
			continue
		}
		if w := judgement.WorthAt(r, judgement.FittedIn(j.fits, r.CodeOfPlay, r.Level), p, habits, j.bounds); w != nil {
			return &HabitWorth{w.Readings, w.HowRead, w.Enough, w.SavesAShot, w.GoalsAGame, w.Warning, w.Sentence}
		}
	}
	return nil
}

func pairsOf(p judgement.Pairs) Pairs {
	out := Pairs{Pairs: make([]ShotPair, len(p.Pairs)), Sentence: p.Sentence, Coloured: p.ResultMayHaveColoured}
	for i, pair := range p.Pairs {
		out.Pairs[i] = ShotPair{
			watchShot(pair.With, Made), watchShot(pair.Without, Missed), pair.Alike.Side, pair.Alike.Difficulty,
		}
	}
	return out
}

func drillOf(p planning.Prescription) WeekDrill {
	f, dose := p.Drill.Fields, p.Dose
	out := WeekDrill{
		DrillID: p.Drill.ID, Code: f.Code, Name: f.Name, Purpose: f.Purpose, SetUp: f.SetUp, Kit: f.Kit,
		Ball: p.Ball, Effort: f.Effort, Team: f.Team,
		Minutes: dose.Minutes, Repetitions: dose.Repetitions, TimesAWeek: dose.TimesAWeek,
		WeekMinutes: dose.WeekMinutes(), Cautions: append([]string{}, f.Cautions...), NextStep: f.NextStep,
		Notes: append([]string{}, p.Notes...),
	}
	if p.Rule != nil {
		out.RuleID, out.Rule, out.Advice = &p.Rule.ID, &p.Rule.Fields.Name, p.Rule.Fields.Advice
	}
	if p.Assignment != nil {
		out.AssignmentID = &p.Assignment.ID
	}
	return out
}

// sharedCautions gives the cautions that stand on more than one of the recommended drills.
func sharedCautions(workOns []WorkOn) []string {
	var drills [][]string
	for _, w := range workOns {
		for _, d := range w.Drills {
			drills = append(drills, d.Cautions)
		}
	}
	return onMoreThanOne(drills)
}

// onMoreThanOne gives the cautions that stand on more than one drill, once each, in the order in which they come again.
func onMoreThanOne(drills [][]string) []string {
	out, seen := []string{}, map[string]int{}
	for _, cautions := range drills {
		for i, caution := range cautions {
			if slices.Contains(cautions[:i], caution) {
				continue
			}
			if seen[caution]++; seen[caution] == 2 {
				out = append(out, caution)
			}
		}
	}
	return out
}

// watch picks the newest misses and the newest hits of the rate, newest first.
func watch(r judgement.Rate, plays []judgement.Play) []WatchShot {
	notes := map[*domain.CountedShot]string{}
	for _, s := range newest(r.Tally.Missed) {
		notes[s] = Missed
	}
	for _, s := range newest(r.Tally.Made) {
		notes[s] = Made
	}
	out := make([]WatchShot, 0, 2*watchEach)
	for _, play := range plays {
		for _, s := range slices.Backward(play.Faced.Shots) {
			if note, picked := notes[s]; picked {
				out = append(out, watchShot(s, note))
			}
		}
	}
	return out
}

// newest gives the last of shots in the order of time.
func newest(shots []*domain.CountedShot) []*domain.CountedShot {
	return shots[max(0, len(shots)-watchEach):]
}

func watchShot(s *domain.CountedShot, note string) WatchShot {
	shot, game := s.Shot.Fields, s.Game.Fields
	return WatchShot{
		ShotID: s.Shot.ID, GameID: s.Game.ID, PlayedOn: game.PlayedOn, Opponent: game.Opponent,
		Period: shot.Period, ClockS: shot.ClockS, FilmMs: shot.FilmMs, Outcome: shot.Outcome, Note: note,
	}
}
