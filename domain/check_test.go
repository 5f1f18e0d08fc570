package domain

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestTextLimitsCountCharactersNotBytes(t *testing.T) {
	long := strings.Repeat("é", MaxName)
	good := func() SeasonFields { return SeasonFields{long, dateOf(t, "2026-01-01"), dateOf(t, "2026-01-01")} }
	assert.Empty(t, good().Check())
	refuses(t, good, map[string]func(*SeasonFields){
		"/name":           func(f *SeasonFields) { f.Name += "é" },
		"/name#nul":       func(f *SeasonFields) { f.Name = "a\x00b" },
		"/name#blank":     func(f *SeasonFields) { f.Name = " \u00a0" },
		"/starts_on":      func(f *SeasonFields) { f.StartsOn = Date{} },
		"/starts_on#old":  func(f *SeasonFields) { f.StartsOn = Date{1899, 12, 31} },
		"/ends_on":        func(f *SeasonFields) { f.EndsOn = dateOf(t, "2025-12-31") },
		"/ends_on#future": func(f *SeasonFields) { f.EndsOn = Date{2201, 1, 1} },
	})
}

func TestANameShowsWhatIsWritten(t *testing.T) {
	named := func(name string) []FieldError {
		return SeasonFields{name, dateOf(t, "2026-01-01"), dateOf(t, "2026-01-01")}.Check()
	}
	for _, name := range []string{"Zoë", "李小龍", "نور", "O'Neil-Ruiz", "e\u0301", "葛\U000e0100城", "می\u200cخواهم", "🥍"} {
		assert.Empty(t, named(name), "%q", name)
	}
	for what, name := range map[string]string{
		"escape": "a\x1b[2J", "bell": "a\a", "C1 control": "a\u0085b", "delete": "a\x7f", "line break": "a\nb", "tab": "a\tb",
		"override": "a\u202egnp.exe", "isolate": "a\u2066b", "right-to-left mark": "a\u200f", "Arabic letter mark": "\u061ca",
		"line separator": "a\u2028b", "byte order mark": "\ufeffa", "tag": "a\U000e0041", "noncharacter": "a\uffff",
		"zero-width alone": "\u200b\u200d", "joiner alone": "\u2060", "Hangul filler": "\u3164", "blank braille": "\u2800",
		"combining mark alone": "\u0301", "soft hyphen alone": "\u00ad", "variation selector alone": "\ufe0f",
	} {
		faults := named(name)
		if assert.NotEmpty(t, faults, "%s: %q", what, name) {
			assert.Equal(t, "/name", faults[0].Pointer, what)
		}
	}
	long := AssignmentFields{Reason: new("Nobody to throw.\r\n\tTry again on Monday.")}
	for _, fault := range long.Check() {
		assert.NotEqual(t, "/reason", fault.Pointer, "a text may have lines")
	}
	long.Reason = new("a\u202eb")
	assert.Contains(t, long.Check(), FieldError{"/reason", "must not hold the character U+202E"})
}

func TestNumbersAreRefusedOutsideTheirRangeAndWhenNoNumber(t *testing.T) {
	good := func() CompetitionFields {
		return CompetitionFields{
			Name: "x", CodeOfPlay: "box", Level: "10u", GoalWidthM: 1.2, GoalHeightM: 1.2, CreaseRadiusM: 2,
			Periods: 4, PeriodS: 720, OvertimeS: 240, AverageMinutes: 48, ClearLine: "centre", OwnGoalRule: "any_defender",
			Unconfirmed: []string{},
		}
	}
	assert.Empty(t, good().Check())
	refuses(t, good, map[string]func(*CompetitionFields){
		"/rule_book":       func(f *CompetitionFields) { f.RuleBook = new("") },
		"/goal_width_m":    func(f *CompetitionFields) { f.GoalWidthM = math.NaN() },
		"/goal_height_m":   func(f *CompetitionFields) { f.GoalHeightM = math.Inf(1) },
		"/crease_radius_m": func(f *CompetitionFields) { f.CreaseRadiusM = 0 },
		"/periods":         func(f *CompetitionFields) { f.Periods = 0 },
		"/period_s":        func(f *CompetitionFields) { f.PeriodS = 59 },
		"/overtime_s":      func(f *CompetitionFields) { f.OvertimeS = MaxClock + 1 },
		"/average_minutes": func(f *CompetitionFields) { f.AverageMinutes = 121 },
		"/clear_line":      func(f *CompetitionFields) { f.ClearLine = "goal" },
		"/own_goal_rule":   func(f *CompetitionFields) { f.OwnGoalRule = "" },
	})
}

func TestPeopleAndTeams(t *testing.T) {
	team := func() TeamFields { return TeamFields{Name: "A", CompetitionID: NameID(ID{}, "c")} }
	assert.Empty(t, team().Check())
	refuses(t, team, map[string]func(*TeamFields){
		"/competition_id":     func(f *TeamFields) { f.CompetitionID = ID{} },
		"/practice_minutes":   func(f *TeamFields) { f.PracticeMinutes = 1201 },
		"/live_shots_session": func(f *TeamFields) { f.LiveShotsSession = new(-1) },
		"/live_shots_week":    func(f *TeamFields) { f.LiveShotsWeek = new(5001) },
	})
	goalie := func() GoalieFields {
		return GoalieFields{Name: "A", StickHand: "left", Availability: Full, AllowedDrillIDs: []ID{}}
	}
	assert.Empty(t, goalie().Check())
	refuses(t, goalie, map[string]func(*GoalieFields){
		"/stick_hand":          func(f *GoalieFields) { f.StickHand = "both" },
		"/age_band":            func(f *GoalieFields) { f.AgeBand = new(Level("9u")) },
		"/availability":        func(f *GoalieFields) { f.Availability = "hurt" },
		"/practice_minutes":    func(f *GoalieFields) { f.PracticeMinutes = new(-1) },
		"/allowed_drill_ids":   func(f *GoalieFields) { f.AllowedDrillIDs = nil },
		"/allowed_drill_ids/1": func(f *GoalieFields) { f.AllowedDrillIDs = []ID{me, me} },
	})
	member := func() MemberFields { return MemberFields{"A", Coach, []ID{teamA}, []ID{}} }
	assert.Empty(t, member().Check())
	refuses(t, member, map[string]func(*MemberFields){
		"/role":       func(f *MemberFields) { f.Role = "owner" },
		"/team_ids":   func(f *MemberFields) { f.TeamIDs = nil },
		"/team_ids/1": func(f *MemberFields) { f.TeamIDs = []ID{teamA, teamA} },
		"/goalie_ids": func(f *MemberFields) { f.GoalieIDs = make([]ID, MaxItems+1) },
	})
	program := func() ProgramFields { return ProgramFields{Name: "A", TimeZone: "America/New_York", Units: "yards"} }
	assert.Empty(t, program().Check())
	refuses(t, program, map[string]func(*ProgramFields){
		"/time_zone":       func(f *ProgramFields) { f.TimeZone = "Mars/Olympus" },
		"/time_zone#empty": func(f *ProgramFields) { f.TimeZone = "" },
		"/time_zone#local": func(f *ProgramFields) { f.TimeZone = "Local" },
		"/units":           func(f *ProgramFields) { f.Units = "cubits" },
	})
}

func TestGamesStintsAndSpells(t *testing.T) {
	game := func() GameFields {
		return GameFields{TeamID: teamA, CompetitionID: teamB, PlayedOn: dateOf(t, "2026-04-11"), Kind: KindGame}
	}
	assert.Empty(t, game().Check())
	refuses(t, game, map[string]func(*GameFields){
		"/team_id":            func(f *GameFields) { f.TeamID = ID{} },
		"/opponent":           func(f *GameFields) { f.Opponent = new(" ") },
		"/kind":               func(f *GameFields) { f.Kind = "friendly" },
		"/ended_clock_s":      func(f *GameFields) { f.EndedPeriod = new(4) },
		"/ended_period":       func(f *GameFields) { f.EndedPeriod, f.EndedClockS = new(31), new(0) },
		"/ended_clock_s#high": func(f *GameFields) { f.EndedPeriod, f.EndedClockS = new(4), new(MaxClock+1) },
	})
	stint := func() StintFields {
		return StintFields{GameID: teamA, StartPeriod: 1, StartClockS: 720, EndPeriod: 4, StartFilmMs: new(0), EndFilmMs: new(0)}
	}
	assert.Empty(t, stint().Check())
	refuses(t, stint, map[string]func(*StintFields){
		"/game_id":      func(f *StintFields) { f.GameID = ID{} },
		"/start_period": func(f *StintFields) { f.StartPeriod = 0 },
		"/end_period":   func(f *StintFields) { f.EndPeriod = MaxPeriod + 1 },
		"/end_film_ms":  func(f *StintFields) { f.StartFilmMs = new(1) },
	})
	spell := func() RosterSpellFields {
		return RosterSpellFields{teamA, me, dateOf(t, "2026-02-01"), new(dateOf(t, "2026-02-01"))}
	}
	assert.Empty(t, spell().Check())
	refuses(t, spell, map[string]func(*RosterSpellFields){
		"/to_on":   func(f *RosterSpellFields) { f.ToOn = new(dateOf(t, "2026-01-31")) },
		"/from_on": func(f *RosterSpellFields) { f.FromOn = Date{} },
	})
	open := spell()
	open.ToOn = nil
	assert.True(t, spell().Holds(dateOf(t, "2026-02-01")))
	assert.False(t, spell().Holds(dateOf(t, "2026-02-02")))
	assert.False(t, open.Holds(dateOf(t, "2026-01-31")))
	assert.True(t, open.Holds(dateOf(t, "2030-01-31")))
}

func TestDrillsAndRules(t *testing.T) {
	drill := func() DrillFields { return Starter(ID{}).Drills[0].Fields }
	refuses(t, drill, map[string]func(*DrillFields){
		"/purpose":    func(f *DrillFields) { f.Purpose = "" },
		"/set_up":     func(f *DrillFields) { f.SetUp = strings.Repeat("x", MaxProse+1) },
		"/levels":     func(f *DrillFields) { f.Levels = nil },
		"/levels/1":   func(f *DrillFields) { f.Levels = []Level{"10u", "10u"} },
		"/ball":       func(f *DrillFields) { f.Ball = "hard" },
		"/effort":     func(f *DrillFields) { f.Effort = "full" },
		"/minutes":    func(f *DrillFields) { f.Minutes = 61 },
		"/cautions":   func(f *DrillFields) { f.Cautions = nil },
		"/cautions/0": func(f *DrillFields) { f.Cautions = []string{""} },

		"/soft_levels":          func(f *DrillFields) { f.SoftLevels = nil },
		"/soft_levels#not live": func(f *DrillFields) { f.SoftLevels = []Level{"10u"} },
		"/soft_levels/0":        func(f *DrillFields) { f.Ball, f.SoftLevels = BallLive, []Level{"9u"} },
		"/next_step":            func(f *DrillFields) { f.NextStep = strings.Repeat("x", MaxProse+1) },
	})
	rule := func() RuleFields { return Starter(NameID(ID{}, "p")).Rules[0].Fields }
	refuses(t, rule, map[string]func(*RuleFields){
		"/season_part":     func(f *RuleFields) { f.SeasonPart = "" },
		"/minutes":         func(f *RuleFields) { f.DrillID, f.Advice = nil, "Rest." },
		"/advice":          func(f *RuleFields) { f.DrillID, f.Dose, f.Advice = nil, Dose{}, " " },
		"/after_sessions":  func(f *RuleFields) { f.AfterDrillIDs, f.AfterSessions = []ID{me}, 0 },
		"/after_blocks":    func(f *RuleFields) { f.AfterBlocks = 11 },
		"/after_drill_ids": func(f *RuleFields) { f.AfterDrillIDs = nil },
		"/also_short_ids":  func(f *RuleFields) { f.AlsoShortIDs = nil },
		"/not_short_ids/1": func(f *RuleFields) { f.NotShortIDs = []ID{me, me} },
		"/states/0":        func(f *RuleFields) { f.States = []State{"bad"} },
		"/times_a_week":    func(f *RuleFields) { f.TimesAWeek = 8 },
		"/priority":        func(f *RuleFields) { f.Priority = 0 },
	})
	assert.Equal(t, 12, Dose{Minutes: 4, Repetitions: 20, TimesAWeek: 3}.WeekMinutes())
}

func TestErrors(t *testing.T) {
	require.NoError(t, Refusal(nil))
	err := Refusal([]FieldError{{"/name", "must not be empty"}})
	assert.Equal(t, Invalid, CodeOf(err))
	assert.Contains(t, err.Error(), "/name: must not be empty")
	assert.Equal(t, Internal, CodeOf(errors.New("x")))
	cause := errors.New("the cause")
	wrapped := &Error{Code: Unavailable, Message: "Later.", Cause: cause}
	require.ErrorIs(t, wrapped, cause)
	assert.Equal(t, Unavailable, CodeOf(errors.Join(errors.New("y"), wrapped)))
	assert.Equal(t, "/limit", InvalidField("/limit", "must be %d", 3).Fields[0].Pointer)
}

func TestWeekAtIsTheProgramsOwn(t *testing.T) {
	sundayNight := time.Date(2026, 4, 13, 3, 0, 0, 0, time.UTC) // still Sunday in New York
	assert.Equal(t, "2026-W15", ProgramFields{TimeZone: "America/New_York"}.WeekAt(sundayNight).String())
	assert.Equal(t, "2026-W16", ProgramFields{TimeZone: "Europe/London"}.WeekAt(sundayNight).String())
}
