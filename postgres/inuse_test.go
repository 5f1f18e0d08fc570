package postgres_test

import (
	"context"
	"testing"

	"cagework/domain"
	"cagework/postgres"

	"github.com/jackc/pgx/v5/pgconn"
	"github.com/stretchr/testify/require"
)

// standing gives a scene in which something stands on everything: removals by what they remove, and the word with
// which the refusal must name what stands on it.
func standing(t *testing.T) (*scene, map[string]func(context.Context) error, map[string]string) {
	t.Helper()
	s := newScene(t)
	st, a := s.stores, s.director
	made(t, st.RosterSpells, a, "spell", domain.RosterSpellFields{TeamID: s.team.ID, GoalieID: s.goalie.ID, FromOn: day("2026-01-01")})
	made(t, st.Stints, a, "stint", s.stint(&s.goalie.ID, 1, 720, 2, 0))
	made(t, st.Stints, a, "empty", s.stint(nil, 2, 0, 4, 0))
	made(t, st.Readings, a, "reading", domain.ReadingFields{ShotID: s.shot.ID, HowRead: domain.Film, Habits: allHabits()})
	made(t, st.Tokens, a, "token", domain.TokenFields{MemberID: a.MemberID, Label: "phone", ExpiresAt: noon.AddDate(1, 0, 0)})
	made(t, st.Members, a, "second director", domain.MemberFields{Name: "Ode", Role: domain.Director, TeamIDs: []domain.ID{}, GoalieIDs: []domain.ID{}})
	made(t, st.Targets, a, "target", fullTarget())
	made(t, st.Drills, a, "drill", fullDrill())
	rule := s.fullRule()
	rule.TargetID, rule.DrillID = new(id("target")), new(id("drill"))
	made(t, st.Rules, a, "rule", rule)

	by := func(remove func(context.Context, domain.Actor, domain.ID, domain.Rev) error, id domain.ID) func(context.Context) error {
		return func(ctx context.Context) error { return remove(ctx, a, id, anyRev) }
	}
	return s, map[string]func(context.Context) error{
			"member": by(st.Members.Remove, a.MemberID), "competition": by(st.Competitions.Remove, s.competition.ID),
			"team": by(st.Teams.Remove, s.team.ID), "goalie": by(st.Goalies.Remove, s.goalie.ID),
			"game": by(st.Games.Remove, s.game.ID), "shot": by(st.Shots.Remove, s.shot.ID),
			"target": by(st.Targets.Remove, id("target")), "drill": by(st.Drills.Remove, id("drill")),
		}, map[string]string{
			"member": "tokens", "competition": "teams", "team": "roster spells", "goalie": "roster spells",
			"game": "stints", "shot": "readings", "target": "rules", "drill": "rules",
		}
}

func TestWhatOthersStandOnStays(t *testing.T) {
	t.Parallel()
	s, removals, names := standing(t)
	before := s.digest(t)
	for what, remove := range removals {
		err := refused(t, domain.InUse, remove(t.Context()))
		require.Contains(t, err.Message, names[what]+" stand on it", what)
		require.NotContains(t, err.Message, "violates")
		require.Equal(t, before, s.digest(t), "%s: something is gone", what)
	}
}

// TestAServerMaySpeakAnyLanguage asks that a refusal is known by its code: servers translate their messages.
func TestAServerMaySpeakAnyLanguage(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	w.exec(t, `CREATE FUNCTION referenced() RETURNS trigger LANGUAGE plpgsql AS $$
		BEGIN
			RAISE EXCEPTION 'Aktualisieren oder Löschen in Tabelle »goalies« verletzt Fremdschlüssel-Constraint'
				USING ERRCODE = '23503', CONSTRAINT = 'roster_spells_goalie_fk', TABLE = 'roster_spells';
		END $$;
		CREATE TRIGGER referenced BEFORE DELETE ON goalies FOR EACH ROW EXECUTE FUNCTION referenced()`)
	goalie := made(t, w.stores.Goalies, w.director, "goalie", goalieCalled("Wren"))
	err := refused(t, domain.InUse, w.stores.Goalies.Remove(t.Context(), w.director, goalie.ID, anyRev))
	require.Equal(t, "It cannot be removed: roster spells stand on it.", err.Message)

	pg := &pgconn.PgError{Code: "23503", ConstraintName: "games_team_fk", TableName: "games", Message: "Einfügen oder Aktualisieren"}
	require.Equal(t, "/team_id", refused(t, domain.Invalid, postgres.AsDomain(t.Context(), pg)).Fields[0].Pointer)
}

func TestListsOfIDsAreStoodOnToo(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	goalie := made(t, s.stores.Goalies, s.director, "other", goalieCalled("Juno"))
	team := made(t, s.stores.Teams, s.director, "other team", domain.TeamFields{Name: "B", CompetitionID: s.competition.ID})
	member := made(t, s.stores.Members, s.director, "coach", domain.MemberFields{
		Name: "Ode", Role: domain.Coach, TeamIDs: []domain.ID{team.ID}, GoalieIDs: []domain.ID{goalie.ID},
	})
	refused(t, domain.InUse, s.stores.Teams.Remove(t.Context(), s.director, team.ID, anyRev))
	refused(t, domain.InUse, s.stores.Goalies.Remove(t.Context(), s.director, goalie.ID, anyRev))
	require.NoError(t, s.stores.Members.Remove(t.Context(), s.director, member.ID, anyRev))
	require.NoError(t, s.stores.Teams.Remove(t.Context(), s.director, team.ID, anyRev))
	require.NoError(t, s.stores.Goalies.Remove(t.Context(), s.director, goalie.ID, anyRev))

	_, _, err := s.stores.Members.Put(t.Context(), s.director, id("late"), domain.MemberFields{
		Name: "Ode", Role: domain.Coach, TeamIDs: []domain.ID{s.team.ID, team.ID}, GoalieIDs: []domain.ID{},
	})
	require.Equal(t, []domain.FieldError{{Pointer: "/team_ids/1", Detail: "there is no such team"}}, refused(t, domain.Invalid, err).Fields)
}

func TestWhatARulesOrAGoaliesListNamesStays(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	st, a := s.stores, s.director
	target, drill := made(t, st.Targets, a, "target", fullTarget()), made(t, st.Drills, a, "drill", fullDrill())
	other := made(t, st.Drills, a, "other", bareDrill())
	fields := s.bareRule()
	fields.AfterDrillIDs, fields.AfterSessions, fields.AlsoShortIDs = []domain.ID{drill.ID}, 1, []domain.ID{target.ID}
	rule := made(t, st.Rules, a, "rule", fields)
	allowed := goalieCalled("Juno")
	allowed.AllowedDrillIDs = []domain.ID{other.ID}
	goalie := made(t, st.Goalies, a, "allowed", allowed)

	byRule, byGoalie := `It cannot be removed: the rule "Far shots" names it.`, `It cannot be removed: the goalie "Juno" names it.`
	require.Equal(t, byRule, refused(t, domain.InUse, st.Targets.Remove(t.Context(), a, target.ID, anyRev)).Message)
	require.Equal(t, byRule, refused(t, domain.InUse, st.Drills.Remove(t.Context(), a, drill.ID, anyRev)).Message)
	require.Equal(t, byGoalie, refused(t, domain.InUse, st.Drills.Remove(t.Context(), a, other.ID, anyRev)).Message)
	fields.AlsoShortIDs, fields.NotShortIDs = fields.NotShortIDs, fields.AlsoShortIDs
	_, err := st.Rules.Patch(t.Context(), a, rule.ID, anyRev, to(fields))
	require.NoError(t, err)
	require.Equal(t, byRule, refused(t, domain.InUse, st.Targets.Remove(t.Context(), a, target.ID, anyRev)).Message)

	require.NoError(t, st.Rules.Remove(t.Context(), a, rule.ID, anyRev))
	require.NoError(t, st.Goalies.Remove(t.Context(), a, goalie.ID, anyRev))
	for _, err := range []error{
		st.Targets.Remove(t.Context(), a, target.ID, anyRev), st.Drills.Remove(t.Context(), a, drill.ID, anyRev),
		st.Drills.Remove(t.Context(), a, other.ID, anyRev),
	} {
		require.NoError(t, err)
	}

	for pointer, name := range map[string]func(*domain.RuleFields){
		"/after_drill_ids/0": func(*domain.RuleFields) {},
		"/also_short_ids/0": func(f *domain.RuleFields) {
			f.AfterDrillIDs = []domain.ID{s.drill.ID}
			f.AlsoShortIDs = []domain.ID{target.ID}
		},
		"/not_short_ids/0": func(f *domain.RuleFields) { f.AfterDrillIDs = []domain.ID{s.drill.ID} },
	} {
		late := fields
		name(&late)
		_, _, err := st.Rules.Put(t.Context(), a, id("late"), late)
		require.Equal(t, pointer, refused(t, domain.Invalid, err).Fields[0].Pointer)
	}
	_, _, err = st.Goalies.Put(t.Context(), a, id("late"), allowed)
	require.Equal(t, []domain.FieldError{{Pointer: "/allowed_drill_ids/0", Detail: "there is no such drill"}}, refused(t, domain.Invalid, err).Fields)
}

func TestARuleSaysWhatIsFoundOfIt(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	fields := s.bareRule()
	fields.DrillID, fields.Dose, fields.Active = &s.drill.ID, domain.Dose{Minutes: 4, Repetitions: 20, TimesAWeek: 2}, true
	rule := made(t, s.stores.Rules, s.director, "rule", fields)
	require.NotNil(t, rule.Found.Findings)
	drill := s.drill.Fields
	drill.Active = false
	_, err := s.stores.Drills.Patch(t.Context(), s.director, s.drill.ID, anyRev, to(drill))
	require.NoError(t, err)
	again, err := s.stores.Rules.Get(t.Context(), s.director, rule.ID)
	require.NoError(t, err)
	require.Contains(t, again.Found.Findings, domain.FieldError{Pointer: "/drill_id", Detail: "the drill is switched off"})
}

// TestChartedGamesKeepTheirMeasures is about what shots and stints stand on without naming it.
func TestChartedGamesKeepTheirMeasures(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	other := made(t, s.stores.Competitions, s.director, "other", fullCompetition())
	measures, names := fullCompetition(), fullCompetition()
	measures.PeriodS, names.Name, names.RuleBook = 900, "Boys", nil
	_, err := s.stores.Competitions.Patch(t.Context(), s.director, s.competition.ID, anyRev, to(measures))
	refused(t, domain.InUse, err)
	_, err = s.stores.Competitions.Patch(t.Context(), s.director, s.competition.ID, anyRev, to(names))
	require.NoError(t, err)
	arc := names
	arc.ArcApexM, arc.ArcHalfStanceM, arc.ShadeNearM = new(0.9), nil, new(0.05)
	_, err = s.stores.Competitions.Patch(t.Context(), s.director, s.competition.ID, anyRev, to(arc))
	require.NoError(t, err, "what a program teaches is no measure")
	_, err = s.stores.Competitions.Patch(t.Context(), s.director, other.ID, anyRev, to(measures))
	require.NoError(t, err, "no game has used it")

	moved := s.game.Fields
	moved.CompetitionID = other.ID
	_, err = s.stores.Games.Patch(t.Context(), s.director, s.game.ID, anyRev, to(moved))
	refused(t, domain.InUse, err)
	require.NoError(t, s.stores.Shots.Remove(t.Context(), s.director, s.shot.ID, anyRev))
	_, err = s.stores.Games.Patch(t.Context(), s.director, s.game.ID, anyRev, to(moved))
	require.NoError(t, err, "nothing is charted")
}
