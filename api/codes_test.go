package api_test

import (
	"fmt"
	"net/http"
	"reflect"
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/domain"
)

// TestEveryCodeComesBack puts each code of each list through the API and reads it back from the database.
func TestEveryCodeComesBack(t *testing.T) {
	t.Parallel()
	s := newService(t)
	s.collegeSeason()
	game := s.game("game", "2014-02-08")
	tried := 0
	roundTripped := func(noun string, fields map[string]any, name string, codes any) {
		list := reflect.ValueOf(codes)
		require.Positive(t, list.Len())
		for i := range list.Len() {
			tried++
			code := list.Index(i).String()
			body := map[string]any{}
			for k, v := range fields {
				body[k] = v
			}
			body[name] = code
			path := "/v1/" + noun + "/" + s.id(fmt.Sprint(noun, name, code))
			s.do(call{method: http.MethodPut, path: path, body: body}).want(http.StatusCreated)
			require.Equal(t, code, s.do(call{method: http.MethodGet, path: path}).want(http.StatusOK).object()[name])
		}
	}
	shot := map[string]any{"game_id": game, "outcome": "save", "film_ms": 7}
	for name, codes := range map[string]any{
		"outcome": domain.Outcomes, "phase": domain.Phases, "strength": domain.Strengths, "arrival": domain.Arrivals,
		"release_style": domain.ReleaseStyles, "release_level": domain.Bands, "shooter_feet": domain.FeetList,
		"finish_band": domain.Bands, "finish_side": domain.Sides, "save_by": domain.SaveBys, "rebound": domain.Rebounds,
		"outlet": domain.Outlets,
	} {
		roundTripped("shots", shot, name, codes)
	}
	roundTripped("clears", map[string]any{"game_id": game, "film_ms": 9}, "result", domain.ClearResults)
	goalie := map[string]any{"name": "Juno Ashe", "stick_hand": "left", "availability": "full", "allowed_drill_ids": []string{}}
	roundTripped("goalies", goalie, "stick_hand", domain.Hands)
	roundTripped("goalies", goalie, "availability", domain.Availabilities)
	roundTripped("goalies", goalie, "age_band", domain.Levels)
	roundTripped("games", map[string]any{"team_id": idIn(teamPath), "competition_id": idIn(competitionPath),
		"played_on": "2014-03-01"}, "kind", domain.GameKinds)
	comp := s.do(call{method: http.MethodGet, path: competitionPath}).object()
	delete(comp, "id")
	delete(comp, "rev")
	roundTripped("competitions", comp, "code_of_play", domain.CodesOfPlay)
	roundTripped("competitions", comp, "level", domain.Levels)
	roundTripped("competitions", comp, "clear_line", domain.ClearLines)
	roundTripped("competitions", comp, "own_goal_rule", domain.OwnGoalRules)
	roundTripped("members", map[string]any{"name": "A", "team_ids": []string{}, "goalie_ids": []string{}}, "role", domain.Roles)
	require.Greater(t, tried, 70)
}
