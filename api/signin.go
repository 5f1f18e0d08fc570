package api

import (
	"bytes"
	"net"
	"net/http"

	"github.com/gin-gonic/gin"

	"cagework/api/pages"
	"cagework/domain"
)

const sessionSeconds = 12 * 3600 // a browser's sign-in; the token itself may end sooner

// GetSignIn shows the form that takes a token.
func (s *Server) GetSignIn(c *gin.Context) { signInPage(c, http.StatusOK, "") }

// SignIn exchanges a token for a cookie that is good for reading only, and goes on to the reader's own page.
func (s *Server) SignIn(c *gin.Context) {
	secret := c.PostForm("token")
	a, err := s.stores.Tokens.Authenticate(c.Request.Context(), secret)
	if err != nil {
		if domain.CodeOf(err) != domain.Unauthenticated {
			fail(c, err)
			return
		}
		signInPage(c, http.StatusUnauthorized, "That token is unknown, expired or revoked.")
		return
	}
	start, err := s.startPage(c, a)
	if err != nil {
		fail(c, err)
		return
	}
	setSession(c, secret, sessionSeconds)
	c.Redirect(http.StatusSeeOther, start)
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

// SignOut takes the cookie back.
func (s *Server) SignOut(c *gin.Context) {
	setSession(c, "", -1)
	c.Redirect(http.StatusSeeOther, "/sign-in")
}

// setSession sets the cookie so that no script reads it and no other site makes the browser send it. It travels
// over TLS only, but for a service that a person runs on their own machine.
func setSession(c *gin.Context, secret string, seconds int) {
	http.SetCookie(c.Writer, &http.Cookie{ //nolint:gosec // Secure everywhere but on loopback
		Name: sessionCookie, Value: secret, Path: "/", MaxAge: seconds,
		HttpOnly: true, SameSite: http.SameSiteStrictMode, Secure: !onLoopback(c.Request.Host),
	})
	c.Header("Cache-Control", "no-store")
}

func onLoopback(host string) bool {
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

func signInPage(c *gin.Context, status int, fault string) {
	var page bytes.Buffer
	if err := pages.SignIn(&page, pages.SignInView{Error: fault}); err != nil {
		fail(c, err)
		return
	}
	writePage(c, status, page.Bytes())
}

// writePage sends a page of ours: it loads nothing from anywhere and may not be framed.
func writePage(c *gin.Context, status int, page []byte) {
	h := c.Writer.Header()
	h.Set("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'; form-action 'self'; "+
		"frame-ancestors 'none'; base-uri 'none'")
	h.Set("Referrer-Policy", "no-referrer")
	if h.Get("Cache-Control") == "" {
		h.Set("Cache-Control", "private, no-cache")
	}
	c.Data(status, "text/html; charset=utf-8", page)
}
