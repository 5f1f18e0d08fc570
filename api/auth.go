package api

import (
	"net/http"
	"slices"
	"strings"

	"github.com/gin-gonic/gin"

	"cagework/domain"
)

// sessionCookie holds a browser's token. It is good for reading only: every write needs the Authorization header,
// which no other site can make a browser send.
const sessionCookie = "cagework_session"

// actor gives the member behind the request; authenticate has put it there.
func actor(c *gin.Context) domain.Actor { return c.MustGet(actorKey).(domain.Actor) }

// authenticate finds the member behind the request's token, or ends the request.
func (s *Server) authenticate(c *gin.Context) {
	secret, err := secretOf(c)
	if err == nil {
		var a domain.Actor
		if a, err = s.stores.Tokens.Authenticate(c.Request.Context(), secret); err == nil {
			c.Set(actorKey, a)
			return
		}
	}
	page := slices.Contains(operation(c).Statuses, "303") // the operation has a face for browsers
	if domain.CodeOf(err) == domain.Unauthenticated && page && wantsPage(c) {
		c.Header("Cache-Control", "no-store")
		c.Redirect(http.StatusSeeOther, "/sign-in")
		c.Abort()
		return
	}
	fail(c, err)
}

// secretOf reads the token from the Authorization header or, for reading, from the cookie.
func secretOf(c *gin.Context) (string, error) {
	if header := c.GetHeader("Authorization"); header != "" {
		scheme, secret, found := strings.Cut(header, " ")
		if !found || !strings.EqualFold(scheme, "Bearer") {
			return "", domain.Errorf(domain.Unauthenticated, "The Authorization header must be: Bearer, a space, a token.")
		}
		return strings.TrimSpace(secret), nil
	}
	if c.Request.Method == http.MethodGet {
		if secret, err := c.Cookie(sessionCookie); err == nil {
			return secret, nil
		}
	}
	return "", domain.Errorf(domain.Unauthenticated, "Send a token: Authorization: Bearer cw_...")
}
