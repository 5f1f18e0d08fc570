package main

import (
	"context"
	_ "embed"
	"encoding/csv"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	openapi_types "github.com/oapi-codegen/runtime/types"

	"cagework/domain"
	"cagework/openapi/client"
)

// demoShots is the chart of an invented goalie's games as a person could have kept it: a row a shot, spots in
// yards, times as they stand on the clock and on the film.
//
//go:embed demo/shots.csv
var demoShots string

// demoWorld is what the demo made.
type demoWorld struct {
	goalie       openapi_types.UUID
	week         string
	shots, games int
}

// demoID gives the demo's records the same ids each time, so that a second start confirms what is there.
func demoID(name string) openapi_types.UUID {
	return openapi_types.UUID(domain.NameID(demoProgramID, name))
}

// loadDemo puts the demo's records through the public API. Every Put may be repeated.
func loadDemo(ctx context.Context, api *client.ClientWithResponses) (demoWorld, error) {
	world := demoWorld{goalie: demoID("goalie")}
	if err := putDemoTeam(ctx, api); err != nil {
		return world, err
	}
	rows, err := readChart(demoShots)
	if err != nil {
		return world, err
	}
	games := map[string]openapi_types.UUID{}
	for i, row := range rows {
		game, known := games[row.get("date")]
		if !known {
			if game, err = putDemoGame(ctx, api, row); err != nil {
				return world, err
			}
			games[row.get("date")] = game
		}
		if err := putDemoShot(ctx, api, row, game, demoID(fmt.Sprintf("shot %d", i+1))); err != nil {
			return world, fmt.Errorf("row %d of the chart: %w", i+2, err)
		}
	}
	world.shots, world.games = len(rows), len(games)
	last, err := domain.ParseDate(rows[len(rows)-1].get("date"))
	world.week = domain.WeekOf(last).String()
	return world, err
}

func putDemoTeam(ctx context.Context, api *client.ClientWithResponses) error {
	competition, team, goalie := demoID("competition"), demoID("team"), demoID("goalie")
	return firstError(
		check(api.PutSeasonWithResponse(ctx, demoID("season"), client.SeasonFields{
			Name: "Spring 2026", StartsOn: day("2026-02-15"), EndsOn: day("2026-06-15"),
		})),
		check(api.PutCompetitionWithResponse(ctx, competition, client.CompetitionFields{
			Name: "Boys high school", CodeOfPlay: "mens_field", Level: "high_school",
			GoalWidthM: 1.829, GoalHeightM: 1.829, CreaseRadiusM: 2.743,
			Periods: 4, PeriodS: 720, OvertimeS: 240, AverageMinutes: 48,
			ClearLine: "centre", OwnGoalRule: "any_defender", Unconfirmed: []client.CompetitionMeasure{},
		})),
		check(api.PutTeamWithResponse(ctx, team, client.TeamFields{
			Name: "Harbor Hill varsity", CompetitionID: competition, PracticeMinutes: 90,
		})),
		check(api.PutGoalieWithResponse(ctx, goalie, client.GoalieFields{
			Name: "Rowan Tully", StickHand: "right", Availability: "full", AllowedDrillIds: []openapi_types.UUID{},
		})),
		check(api.PutRosterSpellWithResponse(ctx, demoID("spell"), client.RosterSpellFields{
			TeamID: team, GoalieID: goalie, FromOn: day("2026-02-15"),
		})),
	)
}

func putDemoGame(ctx context.Context, api *client.ClientWithResponses, row chartRow) (openapi_types.UUID, error) {
	game, opponent := demoID("game "+row.get("date")), row.get("opponent")
	period, clock, goalie := 4, 0, demoID("goalie")
	return game, firstError(
		check(api.PutGameWithResponse(ctx, game, client.GameFields{
			TeamID: demoID("team"), CompetitionID: demoID("competition"), Opponent: &opponent,
			PlayedOn: day(row.get("date")), Kind: client.GameKind(row.get("kind")),
			EndedPeriod: &period, EndedClockS: &clock,
		})),
		check(api.PutStintWithResponse(ctx, demoID("stint "+row.get("date")), client.StintFields{
			GameID: game, GoalieID: &goalie, StartPeriod: 1, StartClockS: 720, EndPeriod: 4, EndClockS: 0,
		})),
	)
}

func putDemoShot(ctx context.Context, api *client.ClientWithResponses, row chartRow, game, id openapi_types.UUID) error {
	fields, err := row.shot()
	if err != nil {
		return err
	}
	fields.GameID = game
	if err := check(api.PutShotWithResponse(ctx, id, fields)); err != nil {
		return err
	}
	answer := strings.ReplaceAll(row.get("set_before_release"), " ", "_")
	if answer == "" {
		return nil
	}
	return check(api.PutReadingWithResponse(ctx, demoID("reading of "+id.String()), client.ReadingFields{
		ShotID: id, HowRead: "film_blind", Habits: map[string]client.Answer{"set_before_release": client.Answer(answer)},
	}))
}

// check turns an answer that is neither "created" nor "unchanged" into an error that shows the problem.
func check[R interface {
	Status() string
	StatusCode() int
	GetBody() []byte
}](r R, err error) error {
	if err != nil {
		return err
	}
	if code := r.StatusCode(); code != http.StatusOK && code != http.StatusCreated {
		return errors.New(r.Status() + ": " + string(r.GetBody()))
	}
	return nil
}

func firstError(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

func day(s string) openapi_types.Date {
	d, err := domain.ParseDate(s)
	if err != nil {
		return openapi_types.Date{} // the service refuses it, with the field named
	}
	return openapi_types.Date{Time: d.Time()}
}

// chartRow is one row of the chart by the names of its columns.
type chartRow map[string]string

func (r chartRow) get(column string) string { return strings.TrimSpace(r[column]) }

func readChart(text string) ([]chartRow, error) {
	records, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		return nil, err
	}
	if len(records) < 2 {
		return nil, errors.New("the chart has no rows")
	}
	var rows []chartRow
	for _, record := range records[1:] {
		row := chartRow{}
		for i, name := range records[0] {
			row[name] = record[i]
		}
		rows = append(rows, row)
	}
	return rows, nil
}

const yard = 0.9144 // metres, exactly

// shot reads a row; what is empty stays absent.
func (r chartRow) shot() (client.ShotFields, error) {
	f := client.ShotFields{Outcome: client.Outcome(r.get("outcome"))}
	f.Phase, f.Strength, f.Arrival = code[client.Phase](r, "phase"), code[client.Strength](r, "strength"), code[client.Arrival](r, "arrival")
	f.ReleaseLevel, f.FinishBand = code[client.Band](r, "release_level"), code[client.Band](r, "finish_band")
	f.FinishSide, f.SaveBy, f.Rebound = code[client.Side](r, "finish_side"), code[client.SaveBy](r, "save_by"), code[client.Rebound](r, "rebound")
	if v := r.get("bounce"); v != "" {
		yes := v == "yes"
		f.Bounce = &yes
	}
	period, errPeriod := strconv.Atoi(r.get("period"))
	clock, errClock := clockTime(r.get("clock"))
	film, errFilm := clockTime(r.get("film"))
	x, errX := strconv.ParseFloat(r.get("ball_x_yd"), 64)
	y, errY := strconv.ParseFloat(r.get("ball_y_yd"), 64)
	clockS, filmMs := int(clock/time.Second), int(film/time.Millisecond)
	xM, yM := x*yard, y*yard
	f.Period, f.ClockS, f.FilmMs, f.BallXM, f.BallYM = &period, &clockS, &filmMs, &xM, &yM
	return f, firstError(errPeriod, errClock, errFilm, errX, errY)
}

func code[T ~string](r chartRow, column string) *T {
	v := T(r.get(column))
	if v == "" {
		return nil
	}
	return &v
}

// clockTime reads 7:11 or 12:03.450: minutes and seconds.
func clockTime(s string) (time.Duration, error) {
	minutes, seconds, found := strings.Cut(s, ":")
	m, errM := strconv.Atoi(minutes)
	sec, errS := strconv.ParseFloat(seconds, 64)
	if !found || errM != nil || errS != nil {
		return 0, fmt.Errorf("%q is not a time such as 7:11", s)
	}
	return time.Duration(m)*time.Minute + time.Duration(sec*float64(time.Second)+0.5), nil
}
