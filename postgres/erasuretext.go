package postgres

import (
	"maps"
	"slices"
	"strings"

	"cagework/domain"
)

// holding says what a column that can hold text holds, and with it what an erasure does about it.
type holding string

const (
	holdsCodes   holding = "codes"   // from a list, or by which a record is asked for: nobody's words. Left as they are.
	holdsFigures holding = "figures" // what the service worked out or counted; left as it is
	holdsPerson  holding = "person"  // the person's own: replaced by the nameless, for the one who is erased
	holdsProse   holding = "prose"   // anybody's words: the name is taken out of them
	holdsProses  holding = "proses"  // a list of such
	holdsMarks   holding = "marks"   // a document with words in its members name and source
	holdsHistory holding = "history" // rewritten by the one database function that may
)

// textTable is a table with text in it. Each column of a type that can hold text must be here: a test reads the catalog. What
// is added to the schema is so asked what an erasure does about it.
type textTable struct {
	noun    domain.Noun // "" for a table of no records, which an erasure does not rewrite
	columns map[string]holding
}

var textTables = map[string]textTable{
	"goalies": {domain.NounGoalie, map[string]holding{"name": holdsPerson, "stick_hand": holdsCodes, "age_band": holdsPerson,
		"availability": holdsPerson}},
	"members": {domain.NounMember, map[string]holding{"name": holdsPerson, "role": holdsPerson}},
	"tokens":  {domain.NounToken, map[string]holding{"label": holdsProse}},
	"assignments": {domain.NounAssignment, map[string]holding{"status": holdsCodes, "reason": holdsProse,
		"baselines": holdsFigures}},
	"programs": {domain.NounProgram, map[string]holding{"name": holdsProse, "time_zone": holdsCodes, "units": holdsCodes,
		"judgement": holdsFigures}},
	"seasons": {domain.NounSeason, map[string]holding{"name": holdsProse}},
	"competitions": {domain.NounCompetition, map[string]holding{"name": holdsProse, "code_of_play": holdsCodes, "level": holdsCodes,
		"rule_book": holdsProse, "clear_line": holdsCodes, "own_goal_rule": holdsCodes, "unconfirmed": holdsCodes}},
	"teams": {domain.NounTeam, map[string]holding{"name": holdsProse}},
	"games": {domain.NounGame, map[string]holding{"opponent": holdsProse, "kind": holdsCodes}},
	"views": {domain.NounView, map[string]holding{"name": holdsProse, "plane": holdsCodes, "marks": holdsMarks, "places": holdsMarks}},
	"habits": {domain.NounHabit, map[string]holding{"code": holdsCodes, "name": holdsProse, "definition": holdsProse,
		"edge_cases": holdsProse, "readable_on": holdsCodes, "codes_of_play": holdsCodes}},
	"targets": {domain.NounTarget, map[string]holding{"code": holdsCodes, "name": holdsProse, "cue": holdsProse,
		"of_shots": holdsCodes, "hit": holdsCodes, "kinds": holdsCodes, "rates": holdsMarks}},
	"drills": {domain.NounDrill, map[string]holding{"code": holdsCodes, "name": holdsProse, "purpose": holdsProse,
		"set_up": holdsProse, "levels": holdsCodes, "codes_of_play": holdsCodes, "kit": holdsProse, "ball": holdsCodes,
		"effort": holdsCodes, "cautions": holdsProses, "soft_levels": holdsCodes, "next_step": holdsProse}},
	"rules": {domain.NounRule, map[string]holding{"name": holdsProse, "states": holdsCodes, "levels": holdsCodes,
		"codes_of_play": holdsCodes, "season_part": holdsCodes, "advice": holdsProse}},
	"shots": {domain.NounShot, map[string]holding{"outcome": holdsCodes, "phase": holdsCodes, "strength": holdsCodes,
		"arrival": holdsCodes, "release_style": holdsCodes, "release_level": holdsCodes, "shooter_feet": holdsCodes,
		"finish_band": holdsCodes, "finish_side": holdsCodes, "save_by": holdsCodes, "rebound": holdsCodes, "outlet": holdsCodes,
		"faced_how": holdsCodes}},
	"readings":      {domain.NounReading, map[string]holding{"how_read": holdsCodes, "habits": holdsCodes}},
	"clears":        {domain.NounClear, map[string]holding{"result": holdsCodes, "cage_how": holdsCodes}},
	"practice_logs": {domain.NounPracticeLog, map[string]holding{"done": holdsFigures}},
	"fits": {domain.NounFit, map[string]holding{"code_of_play": holdsCodes, "level": holdsCodes, "reason": holdsFigures,
		"scores": holdsFigures, "habits": holdsFigures, "model": holdsFigures}},
	"changes":    {"", map[string]holding{"noun": holdsCodes, "op": holdsCodes, "before": holdsHistory, "before_found": holdsHistory}},
	"erasures":   {"", map[string]holding{"noun": holdsCodes, "counts": holdsFigures}},
	"record_ids": {"", map[string]holding{"noun": holdsCodes}},
	"accesses":   {"", map[string]holding{"action": holdsCodes, "noun": holdsCodes, "record_noun": holdsCodes}},
}

// scrub rewrites the rows of one table: those under a condition get what set says. Both may name @person, @names, @blocks
// (the assignments that are or were the goalie's) and @viewers (the members who may or might see the goalie).
type scrub struct {
	noun       domain.Noun
	table      string
	where, set string
}

// key is the column of a table's row that the history knows as its record.
func (s scrub) program() string {
	if s.table == "programs" {
		return "id"
	}
	return "program_id"
}

// scrubs gives what is rewritten when somebody is erased, in an order that never changes.
func scrubs(noun domain.Noun) []scrub {
	own := ownScrubs(noun)
	for _, table := range slices.Sorted(maps.Keys(textTables)) {
		s := proseScrub(table, textTables[table])
		switch i := slices.IndexFunc(own, func(o scrub) bool { return o.table == table }); {
		case s.where == "":
		case i >= 0:
			panic(table + " is rewritten twice") // seen by the first test that erases
		default:
			own = append(own, s)
		}
	}
	return own
}

// ownScrubs rewrites what is the person's own, and ties to it.
func ownScrubs(noun domain.Noun) []scrub {
	if noun == domain.NounMember {
		return []scrub{{noun, "members", "id = @person", `name = '` + domain.ErasedMember + `', role = 'viewer', team_ids = '{}', goalie_ids = '{}'`}}
	}
	return []scrub{
		{noun, "goalies", "id = @person", `name = '` + domain.ErasedGoalie + `', age_band = NULL, availability = 'held',
			practice_minutes = NULL, allowed_drill_ids = '{}', shies_from_ball = false`},
		{domain.NounMember, "members", "id = ANY(@viewers)", `goalie_ids = array_remove(goalie_ids, @person),
			name = CASE role WHEN 'viewer' THEN without_names(name, @names) ELSE name END`},
	}
}

// proseScrub takes a name out of the words of a table. An assignment's words are about its goalie: of one that is or was the
// erased goalie's they go whole.
func proseScrub(table string, t textTable) scrub {
	s := scrub{noun: t.noun, table: table}
	var where, set []string
	for _, column := range slices.Sorted(maps.Keys(t.columns)) {
		var without string
		switch t.columns[column] {
		case holdsProse:
			without = "without_names(" + column + ", @names)"
		case holdsProses:
			without = "ARRAY(SELECT without_names(said, @names) FROM unnest(" + column + ") said)"
		case holdsMarks:
			without = "without_names_in(" + column + ", ARRAY['name', 'source'], @names, false)"
		case holdsCodes, holdsFigures, holdsPerson, holdsHistory:
			continue
		}
		if table == "assignments" {
			without = "CASE WHEN id = ANY(@blocks) AND " + column + " IS NOT NULL THEN '" + domain.ErasedText + "' ELSE " + without + " END"
		}
		where = append(where, column+" IS DISTINCT FROM "+without)
		set = append(set, column+" = "+without)
	}
	s.where, s.set = strings.Join(where, " OR "), strings.Join(set, ", ")
	return s
}
