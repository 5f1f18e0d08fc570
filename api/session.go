package api

import (
	"fmt"
	"log/slog"
	"net/http"
	"net/netip"
	"time"

	"github.com/gin-gonic/gin"

	"cagework/domain"
)

// The names of a session's cookie. A browser takes the first over TLS alone, and from no other host and no other path, so
// that no sister site can plant one.
const (
	secureCookie = "__Host-cagework_session"
	plainCookie  = "cagework_session"
)

func (s *Server) cookieName(c *gin.Context) string {
	if s.secure(c) {
		return secureCookie
	}
	return plainCookie
}

// sessionOf gives the secret in the request's cookie, "" for none.
func (s *Server) sessionOf(c *gin.Context) string {
	cookie, err := c.Request.Cookie(s.cookieName(c))
	if err != nil {
		return ""
	}
	return cookie.Value
}

// setSession sets the cookie, or takes it away when the secret is "", so that no script reads it. It is Lax, not Strict: a
// link to a goalie's week in a mail must open for who is signed in, and a Strict cookie stays behind when another site leads
// here. What Lax lets through are plain GETs, which change nothing; all else stands behind the cross-origin check.
func (s *Server) setSession(c *gin.Context, secret string, life time.Duration) {
	cookie := &http.Cookie{ //nolint:gosec // Secure as the deployment says
		Name: s.cookieName(c), Value: secret, Path: "/", MaxAge: max(int(life.Seconds()), 1),
		HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: s.secure(c),
	}
	if secret == "" {
		cookie.MaxAge = -1
	}
	http.SetCookie(c.Writer, cookie)
	c.Header("Cache-Control", "no-store")
}

// checkOrigin refuses what another site makes a browser send: in front of every form, and of whatever changes something on
// the word of a cookie. No site makes a browser send a token.
func (s *Server) checkOrigin(c *gin.Context, public bool) error {
	if !public && c.GetHeader("Authorization") != "" {
		return nil
	}
	if err := s.origins.Check(c.Request); err != nil {
		return domain.Errorf(domain.CrossOrigin, "This was sent from a page of another site; do it from a page of this service.")
	}
	return nil
}

// guard tries a secret under the throttle: what turns out to be nobody's counts against the address that it comes from, and
// beyond so many nothing from there is looked up but what was good before. It gives the error of try, or TooMany.
func (s *Server) guard(c *gin.Context, secret string, formed bool, try func() error) error {
	a, refused := s.throttle.begin(s.cfg.Now(), hashed(secret), !formed, func() netip.Prefix { return clientAddress(c) })
	if refused != nil {
		s.noteFailure(c, refused.failed)
		return &domain.Error{Code: domain.TooMany, Retry: refused.wait,
			Message: fmt.Sprintf("Too many failed sign-ins came from your address. Try again in %.0f s.", refused.wait.Seconds())}
	}
	end := a.gaveUp // when try panics too
	defer func() { end() }()
	err := try()
	switch {
	case err == nil:
		end = a.passed
	case domain.CodeOf(err) == domain.Unauthenticated:
		end = func() { s.noteFailure(c, a.failed()) }
	}
	return err
}

func hashed(secret string) [secretLength]byte { return [secretLength]byte(domain.HashSecret(secret)) }

// noteFailure thins out what is told of one source.
func (s *Server) noteFailure(c *gin.Context, failures int) {
	if worthALine(failures) {
		s.noteSignIn(c, signInFailed, domain.Actor{}, slog.String("client", addressText(c)), slog.Int("failures", failures))
	}
}

// What happens to who is signed in.
const (
	signedIn       = "signed in"
	signedOut      = "signed out"
	signInFailed   = "sign-in failed"
	signInCodeMade = "sign-in code made"
)

// accessOfSignIn is what the record of who looked says of it. A code that was made is noted as its operation.
var accessOfSignIn = map[string]domain.AccessAction{signedIn: domain.AccessSignIn, signedOut: domain.AccessSignOut}

// noteExpired notes that somebody came with a token that has expired, once an hour: whoever holds it may try all day.
func (s *Server) noteExpired(whose domain.Actor) {
	if !whose.MemberID.IsZero() && s.cfg.Accesses != nil {
		s.cfg.Accesses.Note(domain.NewAccess(whose, s.cfg.Now(), domain.AccessSignInFailed, domain.NounMe).OnceAnHour())
	}
}

// noteSignIn is the one place that hears of every sign-in, failed or not, sign-out and sign-in code. It logs ids and the
// route, never a name or a secret; a client's address only of what failed, thinned out to the 1st, 2nd, 4th, 8th of a source.
func (s *Server) noteSignIn(c *gin.Context, what string, a domain.Actor, more ...slog.Attr) {
	attrs := append([]slog.Attr{slog.String("request_id", requestID(c)), slog.String("route", c.FullPath())}, more...)
	for _, id := range []struct {
		name string
		id   domain.ID
	}{{"program_id", a.ProgramID}, {"member_id", a.MemberID}, {"token_id", a.TokenID}, {"session_id", a.SessionID}} {
		if !id.id.IsZero() {
			attrs = append(attrs, slog.String(id.name, id.id.String()))
		}
	}
	if action, kept := accessOfSignIn[what]; kept && s.cfg.Accesses != nil {
		s.cfg.Accesses.Note(domain.NewAccess(a, s.cfg.Now(), action, domain.NounMe))
	}
	level := slog.LevelInfo
	if what == signInFailed {
		level = slog.LevelWarn
	}
	s.cfg.Log.LogAttrs(c.Request.Context(), level, what, attrs...)
}

// addressText writes a client's address for the log: an IPv4 address, or an IPv6 network.
func addressText(c *gin.Context) string {
	address := clientAddress(c)
	switch {
	case !address.IsValid():
		return "unknown"
	case address.IsSingleIP():
		return address.Addr().String()
	}
	return address.String()
}
