package invented

import (
	"cagework/domain"
)

// season is a program's records as its weeks are worked out from them, without a database.
type season struct {
	*Program
	model *Model
	faced map[domain.ID]domain.FacedRecords // by goalie
	peers map[domain.Week][]domain.PeerCount
}

func newSeason(m *Model, p *Program) *season {
	s := &season{Program: p, model: m, faced: map[domain.ID]domain.FacedRecords{}, peers: map[domain.Week][]domain.PeerCount{}}
	games, competitions := map[domain.ID]domain.Game{}, map[domain.ID]domain.CompetitionFields{}
	for _, c := range p.Competitions {
		competitions[c.ID] = c.Fields
	}
	for _, g := range p.Games {
		games[g.ID] = g
	}
	stints := map[domain.ID][]domain.Stint{}
	for _, st := range p.Stints {
		g := games[st.Fields.GameID]
		stints[g.ID] = append(stints[g.ID], st)
		f := s.faced[*st.Fields.GoalieID]
		f.Stints = append(f.Stints, domain.CountedStint{Stint: st, Game: g, Competition: competitions[g.Fields.CompetitionID]})
		s.faced[*st.Fields.GoalieID] = f
	}
	readings, clears := map[domain.ID]*domain.Reading{}, map[domain.ID]*domain.ClearResult{}
	for i, r := range p.Readings {
		if r.Fields.HowRead != domain.Live {
			readings[r.Fields.ShotID] = &p.Readings[i]
		}
	}
	for i, c := range p.Clears {
		if c.Fields.ShotID != nil {
			clears[*c.Fields.ShotID] = &p.Clears[i].Fields.Result
		}
	}
	hands := map[domain.ID]domain.Hand{}
	for _, g := range p.Goalies {
		hands[g.ID] = g.Fields.StickHand
	}
	for _, shot := range p.Shots {
		g := games[shot.Fields.GameID]
		comp := competitions[g.Fields.CompetitionID]
		shot.Found, _ = domain.FindShot(shot.Fields, comp, stints[g.ID])
		if shot.Found.FacedGoalieID == nil {
			continue
		}
		goalie := *shot.Found.FacedGoalieID
		f := s.faced[goalie]
		f.Shots = append(f.Shots, &domain.CountedShot{
			Shot: shot, Game: g, Competition: comp, Reading: readings[shot.ID], Clear: clears[shot.ID],
			StickHand: hands[goalie], Habits: m.Starter.Habits,
		})
		s.faced[goalie] = f
	}
	return s
}

// week gives the records of a goalie's week, as the store would.
func (s *season) week(goalie domain.Goalie, week domain.Week) domain.WeekRecords {
	r := domain.WeekRecords{
		Goalie: goalie, Week: week, Faced: s.faced[goalie.ID], Seasons: s.Seasons,
		Habits: s.model.Starter.Habits, Targets: s.model.Starter.Targets,
		Drills: s.model.Starter.Drills, Rules: s.model.Starter.Rules, Peers: s.peersIn(week),
	}
	for _, spell := range s.Spells {
		for _, t := range s.Teams {
			if spell.Fields.GoalieID == goalie.ID && spell.Fields.TeamID == t.ID {
				r.Teams = append(r.Teams, t)
			}
		}
	}
	for _, a := range s.Assignments {
		if a.Fields.GoalieID == goalie.ID && !week.Sunday().Before(a.Fields.StartsOn) {
			r.Assignments = append(r.Assignments, a)
		}
	}
	for _, l := range s.Logs {
		if l.Fields.GoalieID == goalie.ID && !week.Sunday().Before(l.Fields.PractisedOn) {
			r.Logs = append(r.Logs, l)
		}
	}
	return r
}

// peersIn counts what all goalies faced in the look-backs of a week.
func (s *season) peersIn(week domain.Week) []domain.PeerCount {
	counts, there := s.peers[week]
	if !there {
		var shots []*domain.CountedShot
		for _, g := range s.Goalies {
			shots = append(shots, s.faced[g.ID].Shots...)
		}
		counts = domain.CountPeers(s.model.Starter.Targets, week, shots)
		s.peers[week] = counts
	}
	return counts
}
