package api

import (
	"mime"
	"net/url"
	"slices"
	"strings"

	"github.com/gin-gonic/gin"

	"cagework/domain"
	"cagework/openapi"
)

// gate holds a request to what the contract says of its operation, before any handler: a token where it needs one,
// a body of a media type that it takes, and no query parameter that it does not have. The order is that of the
// checks in the contract: a caller without a token learns nothing else.
func (s *Server) gate(c *gin.Context) {
	if strings.ContainsFunc(c.Request.URL.Path, isBackslash) || escapedSlash(c.Request.URL) {
		fail(c, domain.Errorf(domain.NotFound, "There is no such path."))
		return
	}
	op, known := s.operations[c.Request.Method+" "+c.FullPath()]
	if !known {
		return // no such route, or an asset of the reference page
	}
	c.Set(operationKey, op)
	if err := s.checkOrigin(c, op.Public); err != nil {
		fail(c, err)
		return
	}
	if !op.Public {
		s.authenticate(c)
		if c.IsAborted() {
			return
		}
	}
	if err := checkMedia(c, op.Media); err != nil {
		fail(c, err)
		return
	}
	if err := checkQuery(c, op.Query); err != nil {
		fail(c, err)
	}
}

func isBackslash(r rune) bool { return r == '\\' }

// escapedSlash tells whether a path has a slash that is none: what stands in front of the service and the router would cut such
// a path in different places.
func escapedSlash(u *url.URL) bool { return strings.Contains(strings.ToLower(u.EscapedPath()), "%2f") }

// operation gives what the contract says of the request's operation; gate has put it there.
func operation(c *gin.Context) openapi.Operation { return c.MustGet(operationKey).(openapi.Operation) }

func checkMedia(c *gin.Context, takes []string) error {
	if len(takes) == 0 {
		return nil
	}
	media, params, err := mime.ParseMediaType(c.GetHeader("Content-Type"))
	charset := strings.ToLower(params["charset"])
	if err == nil && slices.Contains(takes, media) && (charset == "" || charset == "utf-8") {
		return nil
	}
	name := "Accept-Post"
	if c.Request.Method == "PATCH" {
		name = "Accept-Patch"
	}
	c.Header(name, strings.Join(takes, ", "))
	return domain.Errorf(domain.UnsupportedMedia, "Send the body as %s in UTF-8.", strings.Join(takes, " or "))
}

func checkQuery(c *gin.Context, takes []string) error {
	query, err := url.ParseQuery(c.Request.URL.RawQuery)
	if err != nil {
		return domain.Errorf(domain.Malformed, "The query cannot be read.")
	}
	var faults []domain.FieldError
	for name, values := range query {
		if !slices.Contains(takes, name) {
			faults = append(faults, domain.FieldError{Pointer: name, Detail: "there is no such query parameter here"})
		} else if len(values) > 1 {
			faults = append(faults, domain.FieldError{Pointer: name, Detail: "is there twice"})
		}
	}
	if len(faults) == 0 {
		return nil
	}
	slices.SortFunc(faults, func(a, b domain.FieldError) int { return strings.Compare(a.Pointer, b.Pointer) })
	return &domain.Error{Code: domain.Malformed, Message: "The query cannot be read.", Fields: faults}
}
