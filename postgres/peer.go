package postgres

import (
	"context"
	"sync"

	"cagework/domain"
)

// peerCounts keeps how a program's goalies count in a week for as long as nothing is written in the program: what a page
// shows of one goalie leans on all of them, and counting them means reading all their shots.
type peerCounts struct {
	mu   sync.Mutex
	kept map[domain.ID]weekCounts
}

// weekCounts is one program's counts of one week; most ask again for the week that they asked for before.
type weekCounts struct {
	week   domain.Week
	rev    int64 // the program's last change when they were begun to be read
	counts []domain.PeerCount
}

func (p *peerCounts) get(program domain.ID, week domain.Week, rev int64) ([]domain.PeerCount, bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	k, there := p.kept[program]
	return k.counts, there && k.week == week && k.rev == rev
}

func (p *peerCounts) put(program domain.ID, k weekCounts) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.kept == nil || len(p.kept) >= mostKept {
		p.kept = map[domain.ID]weekCounts{}
	}
	p.kept[program] = k
}

// mostKept is for how many programs counts are kept before all are forgotten.
const mostKept = 1000

// peers counts what the program's goalies faced in the look-backs of a week, whoever may read of them: it gives counts
// alone. The change that they stand on is read first, so that what is written meanwhile is counted now or the next time.
func (w *weeks) peers(ctx context.Context, t *tx, common domain.WeekRecords) ([]domain.PeerCount, error) {
	var rev int64
	if err := t.QueryRow(ctx, `SELECT last_rev FROM programs WHERE id = $1`, t.program).Scan(&rev); err != nil {
		return nil, err
	}
	if counts, there := w.counts.get(t.program, common.Week, rev); there {
		return counts, nil
	}
	span := domain.Span{From: domain.LookBack(common.Targets, common.Week), To: common.Week.Sunday()}
	games, err := w.stores.gamesWhere(ctx, t, "games.played_on BETWEEN $2 AND $3", span.From, span.To)
	if err != nil {
		return nil, err
	}
	ids := make([]domain.ID, 0, len(games))
	for id := range games {
		ids = append(ids, id)
	}
	shots, err := w.stores.facedShots(ctx, t, cage{shot: "faced_goalie_id IS NOT NULL AND $2::uuid[] IS NULL"}, games, ids)
	if err != nil {
		return nil, err
	}
	counts := domain.CountPeers(common.Targets, common.Week, shots)
	w.counts.put(t.program, weekCounts{common.Week, rev, counts})
	return counts, nil
}
