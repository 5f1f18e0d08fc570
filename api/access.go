package api

import (
	"net/http"
	"time"

	"github.com/gin-gonic/gin"

	"cagework/domain"
	"cagework/openapi"
	"cagework/openapi/server"
)

// ListAccesses answers with a page of who looked, newest first.
func (s *Server) ListAccesses(c *gin.Context, p server.ListAccessesParams) {
	q := domain.Query{Filter: domain.Filter{MemberID: idOf(p.MemberID), RecordID: idOf(p.RecordID), Since: p.Since, Until: p.Until}}
	if p.Limit != nil {
		if q.Limit = *p.Limit; q.Limit < 1 {
			fail(c, badQuery("limit", "must be 1 or more"))
			return
		}
	}
	if p.Cursor != nil {
		after, ok := readCursor(c.FullPath(), *p.Cursor, q.Filter)
		if !ok {
			fail(c, badQuery("cursor", "is not a cursor of this list and filter"))
			return
		}
		q.After = &after
	}
	page, err := s.stores.Accesses.List(c.Request.Context(), actor(c), q)
	if err != nil {
		fail(c, err)
		return
	}
	body := pageBody[domain.Access]{Items: page.Items}
	if page.Next != nil {
		next := writeCursor(c.FullPath(), *page.Next, q.Filter)
		body.NextCursor = &next
		c.Header("Link", "<"+withCursor(c, next)+`>; rel="next"`)
	}
	writeJSON(c, http.StatusOK, body)
}

// accessNounKey holds what the record of the request turned out to be, where its path does not say.
const accessNounKey = "access_noun"

// noteAccess hands over, after the answer, who looked at what, where the contract says so of the operation. Only what was
// answered counts; which of its forms, or that nothing had changed, does not matter.
func (s *Server) noteAccess(c *gin.Context) {
	op, known := c.Get(operationKey)
	who, authenticated := c.Get(actorKey)
	if s.cfg.Accesses == nil || !known || !authenticated {
		return
	}
	rule, status := op.(openapi.Operation).Access, c.Writer.Status()
	if rule == nil || status >= http.StatusBadRequest {
		return
	}
	action := domain.AccessAction(rule.Action)
	if action == domain.AccessCreate && status != http.StatusCreated {
		return // it was there
	}
	s.cfg.Accesses.Note(accessOf(c, op.(openapi.Operation), who.(domain.Actor), s.cfg.Now(), action))
}

// accessOf makes the entry.
func accessOf(c *gin.Context, op openapi.Operation, who domain.Actor, at time.Time, action domain.AccessAction) domain.Access {
	a := domain.NewAccess(who, at, action, domain.Noun(op.Noun))
	switch rule := op.Access; {
	case rule.Record == string(domain.NounProgram):
		a = a.On(domain.NounProgram, who.ProgramID)
	case rule.Record != "":
		if id, ok := readID(c.Param("id")); ok {
			a.RecordID = &id
			if noun := domain.Noun(rule.Record); rule.Record != "any" {
				a.RecordNoun = &noun
			} else if noun, said := c.Get(accessNounKey); said {
				a.RecordNoun = new(noun.(domain.Noun))
			}
		}
	case a.Noun != domain.NounAccess: // who asks who looked at a goalie has not looked at the goalie
		a = narrowedTo(c, a)
	}
	if op.Access.Once != "" {
		a = a.OnceAnHour()
	}
	return a
}

// readID reads an id in whatever form the generated wrapper takes it, so that no spelling of it goes unnoted.
func readID(text string) (domain.ID, bool) {
	var id uuid
	err := id.UnmarshalText([]byte(text))
	return domain.ID(id), text != "" && err == nil
}

// narrowing are the filters that say at whose records a list looks, the closest to a goalie first.
var narrowing = []struct {
	name string
	noun domain.Noun
}{
	{"goalie_id", domain.NounGoalie}, {"shot_id", domain.NounShot}, {"game_id", domain.NounGame}, {"team_id", domain.NounTeam},
	{"member_id", domain.NounMember}, {"season_id", domain.NounSeason},
}

// narrowedTo names the record that a list was narrowed to.
func narrowedTo(c *gin.Context, a domain.Access) domain.Access {
	for _, by := range narrowing {
		id, ok := readID(c.Query(by.name))
		if !ok {
			continue
		}
		return a.On(by.noun, id)
	}
	return a
}
