package api

import (
	"context"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"github.com/gin-gonic/gin"

	"cagework/domain"
)

// actor gives the member behind the request; authenticate has put it there.
func actor(c *gin.Context) domain.Actor { return c.MustGet(actorKey).(domain.Actor) }

// authenticate finds the member behind the request's token or session, or ends the request. A browser that asks for a page
// is sent to the sign-in form, and from there back to the page. All else gets a problem: what somebody wrote stays with them.
func (s *Server) authenticate(c *gin.Context) {
	a, err := s.identify(c)
	if err == nil {
		c.Set(actorKey, a)
		return
	}
	page := slices.Contains(operation(c).Statuses, "303") // the operation has a face for browsers
	if domain.CodeOf(err) == domain.Unauthenticated && page && c.Request.Method == http.MethodGet && wantsPage(c) {
		to := signInPath
		if next := localPath(c.Request.URL.RequestURI()); next != "" {
			to += "?next=" + url.QueryEscape(next)
		}
		c.Header("Cache-Control", "no-store")
		c.Redirect(http.StatusSeeOther, to)
		c.Abort()
		return
	}
	fail(c, err)
}

// identify finds the member behind the request's token or session.
func (s *Server) identify(c *gin.Context) (domain.Actor, error) {
	secret, find, formed := "", s.stores.Sessions.Authenticate, false
	if c.GetHeader("Authorization") == "" {
		if secret = s.sessionOf(c); secret == "" {
			return domain.Actor{}, domain.Errorf(domain.Unauthenticated, "Send a token: Authorization: Bearer cw_...")
		}
		_, formed = domain.ProgramOfSession(secret)
	} else {
		var err error
		if secret, err = bearer(c); err != nil {
			return domain.Actor{}, err
		}
		find = s.stores.Tokens.Authenticate
		_, formed = domain.ProgramOfSecret(secret)
	}
	return s.guarded(c, secret, formed, find)
}

func (s *Server) guarded(c *gin.Context, secret string, formed bool,
	find func(context.Context, string) (domain.Actor, error),
) (domain.Actor, error) {
	var a domain.Actor
	err := s.guard(c, secret, formed, func() error {
		var err error
		a, err = find(c.Request.Context(), secret)
		return err
	})
	return a, err
}

// bearer reads the token from the Authorization header. With that header a cookie is never looked at.
func bearer(c *gin.Context) (string, error) {
	scheme, secret, found := strings.Cut(c.GetHeader("Authorization"), " ")
	if !found || !strings.EqualFold(scheme, "Bearer") {
		return "", domain.Errorf(domain.Unauthenticated, "The Authorization header must be: Bearer, a space, a token.")
	}
	return strings.TrimSpace(secret), nil
}
