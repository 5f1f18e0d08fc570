package summary

import (
	"slices"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/domain/planning"
)

// WorkOn is the thing to work on this week: in words, with its count, the shots to look at and the drill.
type WorkOn struct {
	Target   Rate        `json:"target"`
	Cue      string      `json:"cue"`
	Sentence string      `json:"sentence"`
	Why      string      `json:"why"`
	Watch    []WatchShot `json:"watch"`
	Drill    *WeekDrill  `json:"drill"` // null: no rule gives one, or every one was held back
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

// WeekDrill is a recommended drill in the dose of the rule that gave it.
type WeekDrill struct {
	DrillID     domain.ID     `json:"drill_id"`
	Code        string        `json:"code"`
	Name        string        `json:"name"`
	Purpose     string        `json:"purpose"`
	SetUp       string        `json:"set_up"`
	Kit         string        `json:"kit"`
	Ball        domain.Ball   `json:"ball"`
	Effort      domain.Effort `json:"effort"`
	Minutes     int           `json:"minutes"`
	Repetitions int           `json:"repetitions"`
	TimesAWeek  int           `json:"times_a_week"`
	WeekMinutes int           `json:"week_minutes"`
	Cautions    []string      `json:"cautions"`
	RuleID      domain.ID     `json:"rule_id"`
	Rule        string        `json:"rule"` // its name
}

// What a shot to watch was.
const (
	Missed = "missed"
	Made   = "made"
)

// watchEach is how many shots of each sort there are to watch.
const watchEach = 2

func workOnOf(plan planning.Plan, plays []judgement.Play) *WorkOn {
	if plan.WorkOn == nil {
		return nil
	}
	w := *plan.WorkOn
	out := WorkOn{
		Target: rateOf(w.Rate), Cue: w.Rate.Target.Fields.Cue,
		Sentence: sentence(w.Rate), Why: why(w), Watch: watch(w.Rate, plays),
	}
	if plan.Drill != nil {
		out.Drill = drillOf(*plan.Drill, *plan.Rule)
	}
	return &out
}

func drillOf(d domain.Drill, rule domain.Rule) *WeekDrill {
	f, dose := d.Fields, rule.Fields.Dose
	return &WeekDrill{
		DrillID: d.ID, Code: f.Code, Name: f.Name, Purpose: f.Purpose, SetUp: f.SetUp, Kit: f.Kit,
		Ball: f.Ball, Effort: f.Effort,
		Minutes: dose.Minutes, Repetitions: dose.Repetitions, TimesAWeek: dose.TimesAWeek,
		WeekMinutes: dose.WeekMinutes(), Cautions: append([]string{}, f.Cautions...),
		RuleID: rule.ID, Rule: rule.Fields.Name,
	}
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
