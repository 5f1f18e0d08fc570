package api_test

import (
	"cmp"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cagework/api"
	"cagework/domain"
	"cagework/openapi"
)

// The places from which a record is reached in the matrix.
const (
	ownTeam      = "own team"
	otherTeam    = "other team"
	otherProgram = "other program"
)

// matrix is a program with two teams and another program, and a member of each role in the first team.
type matrix struct {
	*service
	tokens map[domain.Role]string
	worlds map[string]*world
	made   int
	// whole worlds have what takes long to put: what is known of all goalies is worked out for it. Others do without.
	whole bool

	foreign         domain.ID
	foreignDirector string
}

func newMatrix(t *testing.T) *matrix {
	t.Helper()
	m := &matrix{service: newService(t), tokens: map[domain.Role]string{}, worlds: map[string]*world{}, whole: true}
	m.foreign, m.foreignDirector = m.newProgram("Gull Point Lacrosse")
	m.rebuild()
	m.rebuildForeign()
	return m
}

// rebuild makes fresh records of the own and the other team, for the case before changed some.
func (m *matrix) rebuild() {
	m.t.Helper()
	m.made++
	other := &world{name: "other " + strconvItoa(m.made), seed: m.program}
	other.build(m.service, m.puts(m.director))
	m.worlds[otherTeam] = other
	own := &world{name: "own " + strconvItoa(m.made), seed: m.program}
	m.worlds[ownTeam] = own
	team, err := domain.ParseID(own.id(exampleID(m.t, "putTeam")))
	require.NoError(m.t, err)
	// The members' team must be there before the members; the rest of the world follows, its reading by the recorder.
	first := &world{name: own.name, seed: own.seed}
	puts := m.puts(m.director)
	first.build(m.service, func(noun string) string {
		if noun == "reading" {
			if m.tokens[domain.Recorder] == "" || !m.ofTeam(team) {
				m.newMembers(team)
			}
			return m.tokens[domain.Recorder]
		}
		return puts(noun)
	})
}

// takesLong tells whether putting a record of a noun reads all that the program's goalies faced.
func takesLong(noun string) bool {
	return noun == string(domain.NounAssignment) || noun == string(domain.NounFit)
}

// puts gives who puts a noun.
func (m *matrix) puts(token string) func(string) string {
	return func(noun string) string {
		if takesLong(noun) && !m.whole {
			return ""
		}
		return token
	}
}

// rebuildForeign makes fresh records in the other program, for an id of the old ones is now one's own too.
func (m *matrix) rebuildForeign() {
	m.t.Helper()
	m.made++
	m.worlds[otherProgram] = &world{name: "foreign " + strconvItoa(m.made), seed: m.foreign}
	m.worlds[otherProgram].build(m.service, m.puts(m.foreignDirector))
}

func (m *matrix) ofTeam(team domain.ID) bool {
	a, err := m.stores.Tokens.Authenticate(m.t.Context(), m.tokens[domain.Recorder])
	return err == nil && slices.Contains(a.TeamIDs, team)
}

func (m *matrix) newMembers(team domain.ID) {
	m.t.Helper()
	for _, role := range domain.Roles {
		member, _, err := m.stores.Members.Put(m.t.Context(), domain.Actor{ProgramID: m.program, Role: domain.Director},
			domain.NewID(time.Now()), domain.MemberFields{Name: "A " + string(role), Role: role,
				TeamIDs: []domain.ID{team}, GoalieIDs: []domain.ID{}})
		if err != nil { // the team is not there yet: the reading waits for it like for its shot
			m.tokens[role] = m.director
			continue
		}
		m.tokens[role] = m.newToken(m.program, member.ID)
	}
}

func exampleID(t testing.TB, operation string) string {
	t.Helper()
	for _, op := range operations(t) {
		if op.ID == operation {
			return op.PathExamples["id"]
		}
	}
	t.Fatalf("the contract has no %s", operation)
	return ""
}

// TestWhoMayDoWhat runs every operation of the contract for every role on a record of the own team, of another
// team and of another program, and holds the answers to the one table in domain.
func TestWhoMayDoWhat(t *testing.T) {
	t.Parallel()
	m := newMatrix(t)
	cases := 0
	all := slices.Clone(operations(t))
	// What reads goes first: writes make the program grow, and with it every board.
	slices.SortStableFunc(all, func(a, b openapi.Operation) int {
		return cmp.Compare(strings.Count(b.Method, http.MethodGet), strings.Count(a.Method, http.MethodGet))
	})
	for _, op := range all {
		if !strings.HasPrefix(op.Path, "/v1/") {
			continue
		}
		if whole := op.Method == http.MethodGet || takesLong(op.Noun); whole != m.whole {
			m.whole = whole
			m.rebuild()
			m.rebuildForeign()
		}
		m.do(call{method: op.Method, path: m.worlds[ownTeam].path(op), token: "-", body: m.body(op, ownTeam), ifMatch: "*"}).
			want(http.StatusUnauthorized)
		for _, role := range domain.Roles {
			for _, place := range []string{ownTeam, otherTeam, otherProgram} {
				m.try(op, role, place)
				cases++
			}
		}
	}
	require.GreaterOrEqual(t, cases, 912, "the matrix has shrunk")
}

func (m *matrix) body(op openapi.Operation, place string) any {
	if op.RequestExample == nil {
		return nil
	}
	if place == otherProgram { // a reference into another program would be refused as nothing: use one's own
		place = ownTeam
	}
	return m.worlds[place].text(string(op.RequestExample))
}

// ifMatch is "*", but for an undo, which names what it takes back.
func (m *matrix) ifMatch(op openapi.Operation, place string) string {
	m.t.Helper()
	if op.ID != "undoChange" {
		return "*"
	}
	token := m.director
	if place == otherProgram {
		token = m.foreignDirector
	}
	return m.lastChangeSeenBy(token, strings.TrimSuffix(m.worlds[place].path(op), "/undo"))
}

func (m *matrix) try(op openapi.Operation, role domain.Role, place string) {
	m.t.Helper()
	scope := domain.ScopeOf(role, domain.Verb(op.Verb), domain.Noun(op.Noun))
	a := m.do(call{method: op.Method, path: m.worlds[place].path(op), token: m.tokens[role], body: m.body(op, place), ifMatch: m.ifMatch(op, place)})
	why := "%s by a %s of %s: %s"
	named := op.PathExamples["id"] != ""
	switch {
	case scope == domain.ScopeNone:
		require.Equal(m.t, http.StatusForbidden, a.status, why, op.ID, role, place, a.body)
	case a.status == http.StatusMultiStatus:
		m.wantItems(a, scope == domain.ScopeProgram || place != otherTeam)
	case named && place == otherProgram && op.Method != http.MethodPut:
		require.Equal(m.t, http.StatusNotFound, a.status, why, op.ID, role, place, a.body)
	case named && place == otherTeam && scope == domain.ScopeOwn:
		require.Equal(m.t, http.StatusForbidden, a.status, why, op.ID, role, place, a.body)
	default:
		m.wantAllowed(op, role, place, a)
	}
}

// wantItems holds each item of a batch to what the member may do: the batch itself is answered whatever the mix.
func (m *matrix) wantItems(a answer, allowed bool) {
	m.t.Helper()
	var body struct {
		Items []struct {
			Status  domain.PutStatus
			Problem *api.Problem
		}
	}
	a.into(&body)
	require.NotEmpty(m.t, body.Items)
	for _, item := range body.Items {
		if allowed {
			require.Contains(m.t, []domain.PutStatus{domain.ItemCreated, domain.ItemUnchanged}, item.Status, "%s", a.body)
			continue
		}
		require.Equal(m.t, domain.ItemInvalid, item.Status, "%s", a.body)
		require.Equal(m.t, api.ProblemType(domain.Forbidden), item.Problem.Type)
	}
}

// wantAllowed accepts what only somebody with the right can get: success, or a refusal for the record's own sake.
func (m *matrix) wantAllowed(op openapi.Operation, role domain.Role, place string, a answer) {
	m.t.Helper()
	allowed := []int{200, 201, 204, 409}
	if op.Method == http.MethodGet {
		allowed = []int{200}
	}
	require.Contains(m.t, allowed, a.status, "%s by a %s of %s: %s", op.ID, role, place, a.body)
	if op.Method == http.MethodGet && strings.HasPrefix(op.ID, "list") && len(op.PathExamples) == 0 {
		m.wantOnly(op, role, a)
	}
	if op.ID == "getProgramWeek" {
		m.wantTeams(role, a)
	}
	if op.Method != http.MethodGet && a.status != http.StatusConflict && (op.Method != http.MethodPut || a.status == http.StatusCreated) {
		m.rebuild()
		if place == otherProgram {
			m.rebuildForeign()
		}
	}
}

// wantOnly holds a list to the same table: what one may not get one by one is not in it.
func (m *matrix) wantOnly(op openapi.Operation, role domain.Role, a answer) {
	m.t.Helper()
	ids := map[string]bool{}
	for _, id := range m.everyPage(op.Path, m.tokens[role], a) {
		ids[id] = true
	}
	example := strings.TrimPrefix(op.Path, "/v1/")
	for place, w := range m.worlds {
		var record openapi.Operation
		for _, other := range operations(m.t) {
			if other.Path == "/v1/"+example+"/{id}" && other.Method == http.MethodGet {
				record = other
			}
		}
		if record.ID == "" {
			return // nobody puts what this lists, so that no world has one
		}
		id := strings.TrimPrefix(w.path(record), "/v1/"+example+"/")
		scope := domain.ScopeOf(role, domain.Read, domain.Noun(op.Noun))
		want := place == ownTeam || place == otherTeam && scope == domain.ScopeProgram
		require.Equal(m.t, want, ids[id], "%s by a %s: the record of %s", op.ID, role, place)
	}
}

// wantTeams holds the board to the same table: it is of the teams about which one may read one by one.
func (m *matrix) wantTeams(role domain.Role, a answer) {
	m.t.Helper()
	var board struct{ Teams, Goalies []map[string]any }
	a.into(&board)
	ids := map[any]bool{}
	for _, record := range append(board.Teams, board.Goalies...) {
		if goalie, is := record["goalie"].(map[string]any); is {
			record = goalie
		}
		ids[record["id"]] = true
	}
	for place, w := range m.worlds {
		want := place == ownTeam || place == otherTeam && domain.ScopeOf(role, domain.Read, domain.NounWeek) == domain.ScopeProgram
		for _, operation := range []string{"getTeam", "getGoalie"} {
			require.Equal(m.t, want, ids[w.text(exampleID(m.t, operation))], "the board of a %s: %s of %s", role, operation, place)
		}
	}
}

func (s *service) everyPage(path, token string, first answer) []string {
	s.t.Helper()
	var ids []string
	for a := first; ; {
		var page struct {
			Items []struct {
				ID string `json:"id"`
			} `json:"items"`
			Next *string `json:"next_cursor"`
		}
		a.into(&page)
		for _, item := range page.Items {
			ids = append(ids, item.ID)
		}
		if page.Next == nil {
			return ids
		}
		a = s.do(call{method: http.MethodGet, path: path + "?limit=200&cursor=" + *page.Next, token: token}).want(http.StatusOK)
	}
}
