package postgres

import (
	"context"
	"maps"
	"slices"

	"github.com/jackc/pgx/v5"

	"cagework/domain"
)

// mostFollowed is how many changes are looked through for whom they touched. Where there are more, all is counted anew.
const mostFollowed = 2000

// touched is the records that some changes were about, as far as they say whose counts may have moved.
type touched struct {
	shots, readings, clears, games []domain.ID
	goalies                        map[domain.ID]bool
}

// movedSince gives the goalies whose counts (see [domain.CountPeers]) the changes between two moments may have moved. told
// is false when that cannot be told from the changes, or may be anybody's.
//
// Why it misses nobody: a number of the history is taken by an update of the program's row, which stays locked until the
// commit. Whoever takes the next one has waited for that commit, and the number of who is rolled back is given again. So
// numbers go in the order of commits, and whoever sees a change sees all before it and the rows that they wrote. What was
// counted at the one moment therefore lacks exactly the changes after its number, up to the number of the other moment;
// in a snapshot ([DB.inSnapshot]) the rows are those of that other moment too.
//
// What a record was at the first moment, and in between, stands in its changes as what it was before each; what it is now
// stands in its row. A shot that went from one goalie to another is so counted anew for both.
func (s *Stores) movedSince(ctx context.Context, t *tx, from, to moment) (goalies []domain.ID, told bool, err error) {
	rows, err := t.Query(ctx, `SELECT rev, at, record_id, noun, (before->>'shot_id')::uuid, (before_found->>'faced_goalie_id')::uuid
		FROM changes WHERE program_id = $1 AND rev BETWEEN $2 AND $3 ORDER BY rev LIMIT $4`,
		t.program, from.rev, to.rev, mostFollowed+2)
	if err != nil {
		return nil, false, err
	}
	seen := touched{goalies: map[domain.ID]bool{}}
	var c moment
	var noun domain.Noun
	var shot, goalie *domain.ID
	n, told := 0, true
	_, err = pgx.ForEachRow(rows, []any{&c.rev, &c.at, &c.record, &noun, &shot, &goalie}, func() error {
		if n++; n == 1 {
			told = c.is(from) // else it is another history, in which nothing is known of the moment
		} else {
			told = seen.add(noun, c.record, shot, goalie) && told
		}
		return nil
	})
	if err != nil || !told || n == 0 || n > mostFollowed+1 {
		return nil, false, err
	}
	return seen.whose(ctx, t)
}

// add notes what a change was about: of a reading or clear also the shot that it named, of a shot also the goalie who had
// faced it. It is false when the change may have moved anybody's counts: of a target, a habit, a competition or the
// program, which are seldom written, and of whatever is not named here.
func (c *touched) add(noun domain.Noun, record domain.ID, shot, goalie *domain.ID) bool {
	switch noun {
	case domain.NounShot:
		c.shots = append(c.shots, record)
		if goalie != nil {
			c.goalies[*goalie] = true
		}
	case domain.NounReading:
		c.readings = append(c.readings, record)
		c.noteShot(shot)
	case domain.NounClear:
		c.clears = append(c.clears, record)
		c.noteShot(shot)
	case domain.NounGame: // its day or kind; the goalies whom it has no more have left it by changes of its shots
		c.games = append(c.games, record)
	case domain.NounGoalie: // the side of the stick
		c.goalies[record] = true
	case domain.NounStint, domain.NounView: // they reach counts through the shots that are found again, a change each
	case domain.NounMember, domain.NounToken, domain.NounSeason, domain.NounTeam, domain.NounRosterSpell, domain.NounDrill,
		domain.NounRule, domain.NounAssignment, domain.NounPracticeLog, domain.NounFit: // nothing is counted by them
	default:
		return false
	}
	return true
}

func (c *touched) noteShot(shot *domain.ID) {
	if shot != nil {
		c.shots = append(c.shots, *shot)
	}
}

// whose adds the goalies who faced the shots that were touched, and gives all.
func (c *touched) whose(ctx context.Context, t *tx) ([]domain.ID, bool, error) {
	if len(c.shots)+len(c.readings)+len(c.clears)+len(c.games) > 0 {
		const of = `SELECT s.faced_goalie_id FROM shots s `
		const faced = `s.program_id = $1 AND s.faced_goalie_id IS NOT NULL`
		rows, err := t.Query(ctx, of+`WHERE `+faced+` AND s.id = ANY($2)
			UNION ALL `+of+`WHERE `+faced+` AND s.game_id = ANY($3)
			UNION ALL `+of+`JOIN readings r ON r.program_id = s.program_id AND r.shot_id = s.id WHERE `+faced+` AND r.id = ANY($4)
			UNION ALL `+of+`JOIN clears c ON c.program_id = s.program_id AND c.shot_id = s.id WHERE `+faced+` AND c.id = ANY($5)`,
			t.program, c.shots, c.games, c.readings, c.clears)
		if err != nil {
			return nil, false, err
		}
		found, err := collectIDs(rows)
		if err != nil {
			return nil, false, err
		}
		maps.Copy(c.goalies, found)
	}
	return slices.Collect(maps.Keys(c.goalies)), true, nil
}
