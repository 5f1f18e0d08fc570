package postgres

import (
	"context"
	"sync"
	"time"

	"cagework/domain"
)

// peerCounts keeps how programs' goalies count in a week: what a page shows of one goalie leans on all of them, and counting
// them means reading all their shots. What is kept follows what is written: see [Stores.movedSince].
type peerCounts struct {
	mu   sync.Mutex
	kept map[domain.ID][]weekCounts // of each program, those that were counted last first
}

// weekCounts is one program's counts of one week as they are at a moment. Nobody changes them: pages share them.
type weekCounts struct {
	week   domain.Week
	at     moment
	counts []domain.PeerCount
}

// moment is where a program's history stands: at its last change. The number alone would not tell, for a database that was
// brought back from a backup gives numbers again.
type moment struct {
	rev    int64
	at     time.Time
	record domain.ID
}

func (m moment) is(other moment) bool {
	return m.rev == other.rev && m.at.Equal(other.at) && m.record == other.record
}

// What is kept: of so many programs, before all is forgotten, so many weeks each. Most ask for the present week; who turns
// the pages back asks for the weeks beside it, and a new assignment for the one before it begins.
const (
	programsKept = 250
	weeksKept    = 4
)

func (p *peerCounts) get(program domain.ID, week domain.Week) (weekCounts, bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, k := range p.kept[program] {
		if k.week == week {
			return k, true
		}
	}
	return weekCounts{}, false
}

func (p *peerCounts) put(program domain.ID, k weekCounts) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.kept == nil || p.kept[program] == nil && len(p.kept) >= programsKept {
		p.kept = map[domain.ID][]weekCounts{}
	}
	weeks := []weekCounts{k}
	for _, other := range p.kept[program] {
		if other.week != k.week && len(weeks) < weeksKept {
			weeks = append(weeks, other)
		}
	}
	p.kept[program] = weeks
}

// shotsInHand is the weeks of goalies whose shots were read already, so that nobody's are read twice. everybody tells that
// they are all who faced a shot of the program in the look-backs.
type shotsInHand struct {
	weeks     []domain.WeekRecords
	everybody bool
}

// addPeers counts what the program's goalies faced in the look-backs of the week of some weeks, whoever may read of them: it
// gives counts alone.
func (w *weeks) addPeers(ctx context.Context, t *tx, common domain.WeekRecords, hand shotsInHand) error {
	counts, err := w.peers(ctx, t, common, hand)
	for i := range hand.weeks {
		hand.weeks[i].Peers = counts
	}
	return err
}

// peers gives the counts that are kept when no change has moved them, and else counts those anew who may have moved. Only
// what was read in a snapshot is kept: a transaction that writes sees what others may never see, and each of its queries
// sees another moment.
func (w *weeks) peers(ctx context.Context, t *tx, common domain.WeekRecords, hand shotsInHand) ([]domain.PeerCount, error) {
	now, err := lastChange(ctx, t)
	if err != nil {
		return nil, err
	}
	k, there := w.counts.get(t.program, common.Week)
	if there && k.at.is(now) {
		return k.counts, nil
	}
	var moved []domain.ID
	if there {
		if moved, there, err = w.stores.movedSince(ctx, t, k.at, now); err != nil {
			return nil, err
		}
	}
	targets := only(common.Targets, func(target domain.Target) bool { return target.Fields.Active })
	span := domain.Span{From: domain.LookBack(targets, common.Week), To: common.Week.Sunday()}
	switch {
	case !there:
		shots, err := w.allShots(ctx, t, span, hand)
		if err != nil {
			return nil, err
		}
		k.counts = domain.CountPeers(targets, common.Week, shots)
	case len(moved) > 0:
		shots, err := w.shotsOf(ctx, t, moved, span, hand)
		if err != nil {
			return nil, err
		}
		k.counts = domain.RecountPeers(k.counts, moved, domain.CountPeers(targets, common.Week, shots))
	}
	if t.still {
		w.counts.put(t.program, weekCounts{common.Week, now, k.counts})
	}
	return k.counts, nil
}

// lastChange gives where the program's history stands.
func lastChange(ctx context.Context, t *tx) (moment, error) {
	var m moment
	err := t.QueryRow(ctx, `SELECT c.rev, c.at, c.record_id FROM programs p
		JOIN changes c ON c.program_id = p.id AND c.rev = p.last_rev WHERE p.id = $1`, t.program).Scan(&m.rev, &m.at, &m.record)
	return m, err
}

// of gives the shots of a span that a goalie faced; ok is false when they are not in hand.
func (h shotsInHand) of(goalie domain.ID, span domain.Span) (shots []*domain.CountedShot, ok bool) {
	for _, w := range h.weeks {
		if w.Goalie.ID != goalie {
			continue
		}
		for _, s := range w.Faced.Shots {
			if on := s.Game.Fields.PlayedOn; !on.Before(span.From) && !span.To.Before(on) {
				shots = append(shots, s)
			}
		}
		return shots, true
	}
	return nil, false
}

// shotsOf gives the shots of a span that some goalies faced.
func (w *weeks) shotsOf(ctx context.Context, t *tx, goalies []domain.ID, span domain.Span, hand shotsInHand) ([]*domain.CountedShot, error) {
	var out []*domain.CountedShot
	var others []domain.ID
	for _, id := range goalies {
		shots, read := hand.of(id, span)
		if !read {
			others = append(others, id)
		}
		out = append(out, shots...)
	}
	if len(others) == 0 {
		return out, nil
	}
	who := ofGoalies(others...)
	games, ids, err := w.stores.gamesOf(ctx, t, who, span)
	if err != nil {
		return nil, err
	}
	shots, err := w.stores.facedShots(ctx, t, who, games, ids)
	return append(out, shots...), err
}

// allShots gives the shots of a span that anybody faced.
func (w *weeks) allShots(ctx context.Context, t *tx, span domain.Span, hand shotsInHand) ([]*domain.CountedShot, error) {
	var out []*domain.CountedShot
	known := make([]domain.ID, len(hand.weeks))
	for i, week := range hand.weeks {
		shots, _ := hand.of(week.Goalie.ID, span)
		out, known[i] = append(out, shots...), week.Goalie.ID
	}
	if hand.everybody {
		return out, nil
	}
	games, err := w.stores.gamesWhere(ctx, t, "games.played_on BETWEEN $2 AND $3", span.From, span.To)
	if err != nil {
		return nil, err
	}
	ids := make([]domain.ID, 0, len(games))
	for id := range games {
		ids = append(ids, id)
	}
	others := cage{ids: known, shot: "faced_goalie_id IS NOT NULL AND faced_goalie_id <> ALL($2)"}
	shots, err := w.stores.facedShots(ctx, t, others, games, ids)
	return append(out, shots...), err
}
