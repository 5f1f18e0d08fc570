package postgres_test

import (
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/postgres"
)

// signedIn gives a session of the director, by a token of its own, and a code that waits.
func (w *world) signedIn(t testing.TB) (domain.Session, domain.Token) {
	t.Helper()
	token := made(t, w.stores.Tokens, w.director, "signs in", domain.TokenFields{
		MemberID: w.director.MemberID, Label: "browser", ExpiresAt: noon.AddDate(0, 1, 0),
	})
	session, err := w.stores.Sessions.Open(t.Context(), *token.Found.Secret)
	require.NoError(t, err)
	_, err = w.stores.SignInCodes.Make(t.Context(), session.Actor, domain.SignInCodeFields{})
	require.NoError(t, err)
	return session, token
}

// at gives the stores as they are at another time.
func (w *world) storesAt(t testing.TB, now time.Time) *postgres.Stores {
	t.Helper()
	db, err := postgres.Open(t.Context(), postgres.Config{URL: w.db.URL, MaxConns: 2, Now: func() time.Time { return now }})
	require.NoError(t, err)
	t.Cleanup(db.Close)
	return postgres.NewStores(db, judgement.Judge{})
}

func TestASessionIsItsMember(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	session, token := w.signedIn(t)
	require.WithinDuration(t, noon.Add(12*time.Hour), session.ExpiresAt, time.Millisecond)
	a, err := w.stores.Sessions.Authenticate(t.Context(), session.Secret)
	require.NoError(t, err)
	require.Equal(t, session.Actor, a)
	require.Equal(t, token.ID, a.TokenID)
	require.Equal(t, w.director.MemberID, a.MemberID)
	require.False(t, ask[bool](t, w, `SELECT EXISTS (SELECT FROM sessions s WHERE s::text LIKE '%' || $1 || '%')`, session.Secret), "only a hash is kept")
	for _, secret := range []string{"", session.Secret + "A", *token.Found.Secret, domain.NewSessionSecret(w.program.ID), domain.NewSessionSecret(id("nowhere"))} {
		_, err := w.stores.Sessions.Authenticate(t.Context(), secret)
		refused(t, domain.Unauthenticated, err)
		_, err = w.stores.Sessions.End(t.Context(), secret)
		refused(t, domain.Unauthenticated, err)
	}
	_, err = w.stores.Tokens.Authenticate(t.Context(), session.Secret)
	refused(t, domain.Unauthenticated, err)
	_, err = w.stores.Sessions.Open(t.Context(), session.Secret)
	refused(t, domain.Unauthenticated, err)

	before := w.lastRev(t, w.program.ID)
	who, err := w.stores.Sessions.End(t.Context(), session.Secret)
	require.NoError(t, err)
	require.Equal(t, session.Actor.SessionID, who.SessionID)
	require.Equal(t, session.Actor.MemberID, who.MemberID)
	_, err = w.stores.Sessions.Authenticate(t.Context(), session.Secret)
	refused(t, domain.Unauthenticated, err)
	require.Equal(t, before, w.lastRev(t, w.program.ID), "a session has no history")
}

func TestASessionEndsInTime(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	session, _ := w.signedIn(t)
	short := made(t, w.stores.Tokens, w.director, "short", domain.TokenFields{
		MemberID: w.director.MemberID, Label: "short", ExpiresAt: noon.Add(time.Hour),
	})
	soon, err := w.stores.Sessions.Open(t.Context(), *short.Found.Secret)
	require.NoError(t, err)
	require.Equal(t, short.Fields.ExpiresAt, soon.ExpiresAt, "no longer than its token")
	for secret, end := range map[string]time.Time{session.Secret: session.ExpiresAt, soon.Secret: soon.ExpiresAt} {
		_, err = w.storesAt(t, end.Add(-time.Millisecond)).Sessions.Authenticate(t.Context(), secret)
		require.NoError(t, err)
		_, err = w.storesAt(t, end).Sessions.Authenticate(t.Context(), secret)
		refused(t, domain.Unauthenticated, err)
	}
	later := w.storesAt(t, session.ExpiresAt)
	_, err = later.Sessions.Open(t.Context(), *short.Found.Secret)
	refused(t, domain.Unauthenticated, err)
	long := made(t, w.stores.Tokens, w.director, "long", domain.TokenFields{
		MemberID: w.director.MemberID, Label: "long", ExpiresAt: noon.AddDate(1, 0, 0),
	})
	_, err = later.Sessions.Open(t.Context(), *long.Found.Secret)
	require.NoError(t, err)
	require.Equal(t, 1, ask[int](t, w, `SELECT count(*) FROM sessions`), "what has expired is swept out")
}

func TestASessionGoesWithItsTokenAndItsMember(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	session, token := w.signedIn(t)
	code, err := w.stores.SignInCodes.Make(t.Context(), session.Actor, domain.SignInCodeFields{})
	require.NoError(t, err)
	byCode, err := w.stores.Sessions.OpenByCode(t.Context(), code.Code)
	require.NoError(t, err)
	waits, err := w.stores.SignInCodes.Make(t.Context(), byCode.Actor, domain.SignInCodeFields{})
	require.NoError(t, err)
	require.Equal(t, token.ID, byCode.Actor.TokenID, "what a code opens stands on the token of who made it")
	require.NoError(t, w.stores.Tokens.Remove(t.Context(), w.director, token.ID, anyRev))
	for _, s := range []domain.Session{session, byCode} {
		_, err = w.stores.Sessions.Authenticate(t.Context(), s.Secret)
		refused(t, domain.Unauthenticated, err)
	}
	_, err = w.stores.Sessions.OpenByCode(t.Context(), waits.Code)
	refused(t, domain.Unauthenticated, err)

	coach := made(t, w.stores.Members, w.director, "coach", domain.MemberFields{Name: "Coach", Role: domain.Coach, TeamIDs: []domain.ID{}, GoalieIDs: []domain.ID{}})
	code, err = w.stores.SignInCodes.Make(t.Context(), w.director, domain.SignInCodeFields{MemberID: &coach.ID})
	require.NoError(t, err)
	byCode, err = w.stores.Sessions.OpenByCode(t.Context(), code.Code)
	require.NoError(t, err)
	require.Equal(t, domain.Coach, byCode.Actor.Role)
	code, err = w.stores.SignInCodes.Make(t.Context(), w.director, domain.SignInCodeFields{MemberID: &coach.ID})
	require.NoError(t, err)
	require.NoError(t, w.stores.Members.Remove(t.Context(), w.director, coach.ID, anyRev))
	_, err = w.stores.Sessions.Authenticate(t.Context(), byCode.Secret)
	refused(t, domain.Unauthenticated, err)
	_, err = w.stores.Sessions.OpenByCode(t.Context(), code.Code)
	refused(t, domain.Unauthenticated, err)
}

func TestOnlySoManySessionsAndCodes(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	first, token := w.signedIn(t)
	w.exec(t, `UPDATE sessions SET made_at = made_at - interval '1 minute'`)
	var codes []domain.SignInCode
	for range 99 {
		_, err := w.stores.Sessions.Open(t.Context(), *token.Found.Secret)
		require.NoError(t, err)
	}
	_, err := w.stores.Sessions.Authenticate(t.Context(), first.Secret)
	require.NoError(t, err)
	_, err = w.stores.Sessions.Open(t.Context(), *token.Found.Secret)
	require.NoError(t, err)
	_, err = w.stores.Sessions.Authenticate(t.Context(), first.Secret)
	refused(t, domain.Unauthenticated, err)
	require.Equal(t, 100, ask[int](t, w, `SELECT count(*) FROM sessions`))
	for range 20 {
		code, err := w.stores.SignInCodes.Make(t.Context(), w.director, domain.SignInCodeFields{})
		require.NoError(t, err)
		codes = append(codes, code)
	}
	require.Equal(t, 8, ask[int](t, w, `SELECT count(*) FROM sign_in_codes`))
	_, err = w.stores.Sessions.OpenByCode(t.Context(), codes[19].Code)
	require.NoError(t, err)
}

func TestACodeOpensOnce(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	code, err := w.stores.SignInCodes.Make(t.Context(), w.director, domain.SignInCodeFields{})
	require.NoError(t, err)
	require.WithinDuration(t, noon.Add(10*time.Minute), code.ExpiresAt, time.Millisecond)
	require.False(t, ask[bool](t, w, `SELECT EXISTS (SELECT FROM sign_in_codes c WHERE c::text LIKE '%' || $1 || '%')`, code.Code))
	_, err = w.storesAt(t, code.ExpiresAt).Sessions.OpenByCode(t.Context(), code.Code)
	refused(t, domain.Unauthenticated, err)

	// All at once: one gets in.
	const many = 8
	var wg sync.WaitGroup
	errs := make([]error, many)
	for i := range many {
		wg.Go(func() { _, errs[i] = w.stores.Sessions.OpenByCode(t.Context(), code.Code) })
	}
	wg.Wait()
	in := 0
	for _, err := range errs {
		var e *domain.Error
		if err == nil {
			in++
		} else if assert.ErrorAs(t, err, &e) {
			assert.Equal(t, domain.Unauthenticated, e.Code, "%v", err)
		}
	}
	require.Equal(t, 1, in)
	require.Equal(t, 1, ask[int](t, w, `SELECT count(*) FROM sessions`))
	_, err = w.stores.Sessions.OpenByCode(t.Context(), code.Code)
	refused(t, domain.Unauthenticated, err)

	later := w.storesAt(t, code.ExpiresAt)
	_, err = later.SignInCodes.Make(t.Context(), w.director, domain.SignInCodeFields{})
	require.NoError(t, err)
	require.Equal(t, 1, ask[int](t, w, `SELECT count(*) FROM sign_in_code_programs`), "what has expired is swept out")
}

func TestACodeGivesNoMoreThanItsMemberHas(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	_, stranger := w.another(t, "Millbrook")
	coach := made(t, w.stores.Members, w.director, "coach", domain.MemberFields{Name: "Coach", Role: domain.Coach, TeamIDs: []domain.ID{}, GoalieIDs: []domain.ID{}})
	a := domain.Actor{ProgramID: w.program.ID, MemberID: coach.ID, Role: domain.Coach}
	for _, member := range []domain.ID{w.director.MemberID, id("nobody")} {
		_, err := w.stores.SignInCodes.Make(t.Context(), a, domain.SignInCodeFields{MemberID: &member})
		refused(t, domain.Forbidden, err)
	}
	for _, member := range []domain.ID{stranger.MemberID, id("nobody")} {
		_, err := w.stores.SignInCodes.Make(t.Context(), w.director, domain.SignInCodeFields{MemberID: &member})
		require.Equal(t, "/member_id", refused(t, domain.Invalid, err).Fields[0].Pointer)
	}
	code, err := w.stores.SignInCodes.Make(t.Context(), a, domain.SignInCodeFields{})
	require.NoError(t, err)
	session, err := w.stores.Sessions.OpenByCode(t.Context(), code.Code)
	require.NoError(t, err)
	require.Equal(t, coach.ID, session.Actor.MemberID)
	require.Equal(t, domain.Coach, session.Actor.Role)
}

// TestAnErasedMemberIsSignedOut: from what stands on another's token too.
func TestAnErasedMemberIsSignedOut(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	director, _ := w.signedIn(t)
	coach := made(t, w.stores.Members, w.director, "coach", domain.MemberFields{Name: "Sable Quince", Role: domain.Coach, TeamIDs: []domain.ID{}, GoalieIDs: []domain.ID{}})
	codeFor := func() domain.SignInCode {
		code, err := w.stores.SignInCodes.Make(t.Context(), director.Actor, domain.SignInCodeFields{MemberID: &coach.ID})
		require.NoError(t, err)
		return code
	}
	session, err := w.stores.Sessions.OpenByCode(t.Context(), codeFor().Code)
	require.NoError(t, err)
	waits := codeFor()
	_, err = w.stores.Erasures.Erase(t.Context(), w.director, domain.NounMember, coach.ID, domain.ErasureConsent{Rev: anyRev})
	require.NoError(t, err)
	_, err = w.stores.Sessions.Authenticate(t.Context(), session.Secret)
	refused(t, domain.Unauthenticated, err)
	_, err = w.stores.Sessions.OpenByCode(t.Context(), waits.Code)
	refused(t, domain.Unauthenticated, err)
	_, err = w.stores.Sessions.Authenticate(t.Context(), director.Secret)
	require.NoError(t, err)
}
