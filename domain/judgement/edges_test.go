package judgement

import (
	"fmt"
	"math"
	"reflect"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/domain/stats"
)

// noNaN asserts that no number of a value, however deep, is not a number or endless.
func noNaN(t *testing.T, what string, v reflect.Value) {
	t.Helper()
	switch v.Kind() {
	case reflect.Float64:
		assert.False(t, math.IsNaN(v.Float()) || math.IsInf(v.Float(), 0), what)
	case reflect.Pointer, reflect.Interface:
		if !v.IsNil() {
			noNaN(t, what, v.Elem())
		}
	case reflect.Struct:
		for i := range v.NumField() {
			noNaN(t, what+"."+v.Type().Field(i).Name, v.Field(i))
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			noNaN(t, fmt.Sprintf("%s[%d]", what, i), v.Index(i))
		}
	default:
	}
}

// What is said of a goalie with no try, of one with nothing but misses and of one with nothing but hits, alone and among
// peers, through every step of a week.
func TestNothingIsLostAtTheEdges(t *testing.T) {
	t.Parallel()
	target := named("low_save")
	for _, count := range [][2]int{{0, 0}, {0, 1}, {1, 0}, {0, 30}, {30, 0}, {0, 400}, {400, 0}} {
		saves, goals := count[0], count[1]
		rate := rateOf(target, saves, goals)
		own := stats.Count{Hits: saves, Tries: saves + goals}
		for name, peers := range map[string]*Peers{
			"alone": peersOf(target, own), "all alike": peersOf(target, own, own, own),
			"among others":      peersOf(target, own, stats.Count{Hits: 20, Tries: 40}, stats.Count{Hits: 9, Tries: 31}),
			"with nobody's try": peersOf(target, own, stats.Count{}, stats.Count{}),
		} {
			what := fmt.Sprintf("%d saves, %d goals, %s", saves, goals, name)
			judged := peers.Judge(id("0"), rate)
			noNaN(t, what, reflect.ValueOf(judged))
			require.Equal(t, saves+goals > 0, judged.Opinion != nil, what)
			noNaN(t, what+": board", reflect.ValueOf(peers.Board()))

			rates := append([]Rate(nil), judged)
			ListOwn(rates, Defaults())
			ListByCount(rates, Defaults())
			faced := domain.FacedRecords{Shots: shots(game(1, "2026-04-11", domain.KindGame), saves, goals)}
			choice := Choice{
				Rates: rates, Plays: []Play{{"mens_field", "college", faced}}, Week: week, Value: OnlySaves, Most: 3, Bounds: Defaults(),
			}
			noNaN(t, what+": order", reflect.ValueOf(choice.Order()))
			noNaN(t, what+": pairs", reflect.ValueOf(PairsOf(judged, nil)))
			season := Season{Shots: faced.Shots, Start: StartOf(judged, Defaults()), GamesPlayed: 15, SeasonGames: 15, Level: .1, Week: week}
			noNaN(t, what+": signal", reflect.ValueOf(SignalOf(target.Fields, season, &limits, Defaults().Signal)))

			b := Freeze(judged, Defaults())
			require.Equal(t, saves+goals > 0, b != nil, what)
			if b == nil {
				continue
			}
			for _, later := range [][2]int{{0, 0}, {0, 1}, {1, 1}, {0, 24}, {24, 24}} {
				noNaN(t, fmt.Sprintf("%s: help of %v", what, later), reflect.ValueOf(b.Help(later[0], later[1])))
				noNaN(t, what+": totals", reflect.ValueOf(HelpByDrill([]Given{{*b, later[0], later[1], nil, new(id("drill"))}})))
			}
		}
	}
}
