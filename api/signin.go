package api

import (
	"bytes"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"regexp"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"cagework/api/pages"
	"cagework/domain"
	"cagework/openapi/server"
)

const signInPath = "/sign-in"

// GetStart leads to where somebody begins to read, or to the sign-in form.
func (s *Server) GetStart(c *gin.Context) {
	a, err := s.identify(c)
	to := signInPath
	if err == nil {
		to, err = s.startPage(c, a)
	} else if domain.CodeOf(err) == domain.Unauthenticated {
		err = nil
	}
	if err != nil {
		fail(c, err)
		return
	}
	c.Header("Cache-Control", "no-store")
	c.Redirect(http.StatusSeeOther, to)
}

// GetSignIn shows the form. A code in its address is put into the form, and used up only when the form is sent: programs that
// look at links before people do must not spend it.
func (s *Server) GetSignIn(c *gin.Context, p server.GetSignInParams) {
	v := pages.SignInView{}
	if p.Code != nil {
		if code, ok := domain.ReadCode(*p.Code); ok {
			v.Code = domain.ShownCode(code)
		}
	}
	if p.Next != nil {
		v.Next = localPath(*p.Next)
	}
	signInPage(c, http.StatusOK, v)
}

// signInForm is what the form sends.
type signInForm struct{ token, code, next string }

func readSignInForm(c *gin.Context) (signInForm, error) {
	if err := c.Request.ParseForm(); err != nil {
		return signInForm{}, decodeError(err)
	}
	f := c.Request.PostForm
	return signInForm{strings.TrimSpace(f.Get("token")), strings.TrimSpace(f.Get("code")), localPath(f.Get("next"))}, nil
}

// SignIn opens a session with a token or a code, and goes on to the page that was asked for, or to the reader's own.
func (s *Server) SignIn(c *gin.Context) {
	form, err := readSignInForm(c)
	if err != nil {
		fail(c, err)
		return
	}
	session, err := s.openSession(c, form)
	if err != nil {
		s.refuseSignIn(c, form, err)
		return
	}
	if old := s.sessionOf(c); old != "" { // whoever was signed in here before
		_ = s.endSession(c, old) // it ends in time all the same
	}
	to := form.next
	if to == "" {
		if to, err = s.startPage(c, session.Actor); err != nil {
			fail(c, err)
			return
		}
	}
	s.setSession(c, session.Secret, session.ExpiresAt.Sub(s.cfg.Now()))
	c.Redirect(http.StatusSeeOther, to)
}

// lost tells whether a browser would drop the session's cookie at once: it is for TLS alone, and the browser says itself that
// its page came without. Only of this machine browsers take it all the same.
func (s *Server) lost(c *gin.Context) bool {
	from, err := url.Parse(c.GetHeader("Origin"))
	if err != nil || from.Scheme != "http" || !s.secure(c) {
		return false
	}
	ip := net.ParseIP(from.Hostname())
	return from.Hostname() != "localhost" && (ip == nil || !ip.IsLoopback())
}

func (s *Server) openSession(c *gin.Context, form signInForm) (domain.Session, error) {
	if s.lost(c) {
		return domain.Session{}, domain.Errorf(domain.Unauthenticated, "This page came without TLS (http), and a browser keeps "+
			"no sign-in from there. Use the https address, or ask whoever runs the service.")
	}
	if form.token == "" && form.code == "" {
		return domain.Session{}, domain.Errorf(domain.Unauthenticated, "Give a token or a code.")
	}
	how, secret, open := "token", form.token, s.stores.Sessions.Open
	_, formed := domain.ProgramOfSecret(secret)
	if form.token == "" {
		how, secret, open = "code", form.code, s.stores.Sessions.OpenByCode
		_, formed = domain.ReadCode(secret)
	}
	var session domain.Session
	err := s.guard(c, secret, formed, func() error {
		var err error
		session, err = open(c.Request.Context(), secret)
		return err
	})
	if err == nil {
		s.throttle.know(hashed(session.Secret))
		s.noteSignIn(c, signedIn, session.Actor, slog.String("by", how))
	}
	return session, err
}

// refuseSignIn shows the form again where that helps.
func (s *Server) refuseSignIn(c *gin.Context, form signInForm, err error) {
	code := domain.CodeOf(err)
	if code != domain.Unauthenticated && code != domain.TooMany {
		fail(c, err)
		return
	}
	_, e := problemOf(c, err)
	c.Set(failureKey, e)
	if code == domain.Unauthenticated {
		c.Header("WWW-Authenticate", challenge(c))
	} else {
		c.Header("Retry-After", strconv.Itoa(int(e.Retry.Seconds())))
	}
	signInPage(c, kinds[code].status, pages.SignInView{Error: e.Message, Next: form.next})
}

// startPage gives where somebody begins to read: the board of this week, or who they are when they may not read it.
func (s *Server) startPage(c *gin.Context, a domain.Actor) (string, error) {
	if domain.ScopeOf(a.Role, domain.Read, domain.NounWeek) == domain.ScopeNone {
		return "/v1/me", nil
	}
	program, err := s.stores.Programs.Get(c.Request.Context(), a)
	if err != nil {
		return "", err
	}
	return "/v1/program/weeks/" + program.Fields.WeekAt(s.cfg.Now()).String(), nil
}

// SignOut ends the session and takes the cookie back. Who is not signed in is signed out already. When the session cannot be
// ended now, the cookie stays, so that signing out can be tried again.
func (s *Server) SignOut(c *gin.Context) {
	if secret := s.sessionOf(c); secret != "" {
		if err := s.endSession(c, secret); err != nil && domain.CodeOf(err) != domain.Unauthenticated {
			fail(c, err)
			return
		}
	}
	s.setSession(c, "", 0)
	c.Redirect(http.StatusSeeOther, signInPath)
}

func (s *Server) endSession(c *gin.Context, secret string) error {
	_, formed := domain.ProgramOfSession(secret)
	a, err := s.guarded(c, secret, formed, s.stores.Sessions.End)
	if err == nil {
		s.noteSignIn(c, signedOut, a)
	}
	return err
}

func signInPage(c *gin.Context, status int, v pages.SignInView) {
	var page bytes.Buffer
	if err := pages.SignIn(&page, v); err != nil {
		fail(c, err)
		return
	}
	c.Header("Cache-Control", "no-store") // a code may stand in it
	writePage(c, status, page.Bytes())
}

// local is the form of a path of this service that a browser may be sent to: no percent sign in the path, nothing that a
// browser could take for another host, and in the query what addresses of pages are made of.
var local = regexp.MustCompile(`^(/[A-Za-z0-9_~:@=-][A-Za-z0-9._~:@=-]*)+/?(\?[A-Za-z0-9._~:@=&,+%-]*)?$`)

// localPath gives the address back when it is a page of this service to which a browser may be sent, and "" for anything
// else: other hosts in every disguise, and the sign-in form itself.
func localPath(address string) string {
	if len(address) > 1000 || !local.MatchString(address) {
		return ""
	}
	u, err := url.ParseRequestURI(address)
	if err != nil || u.Host != "" || u.Path == signInPath || u.Path == "/sign-out" {
		return ""
	}
	return address
}

// writePage sends a page of ours: it loads nothing from anywhere and may not be framed.
func writePage(c *gin.Context, status int, page []byte) {
	h := c.Writer.Header()
	h.Set("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'; form-action 'self'; "+
		"frame-ancestors 'none'; base-uri 'none'")
	h.Set("Referrer-Policy", "same-origin") // with no-referrer a form's Origin would be null, and be taken for another site's
	if h.Get("Cache-Control") == "" {
		h.Set("Cache-Control", "private, no-cache")
	}
	c.Data(status, "text/html; charset=utf-8", page)
}
