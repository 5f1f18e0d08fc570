package api

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"cagework/domain"
)

// Problem is an RFC 9457 problem document.
type Problem struct {
	Type      string              `json:"type"`
	Title     string              `json:"title"`
	Status    int                 `json:"status"`
	Detail    string              `json:"detail"`
	Instance  string              `json:"instance"`
	RequestID string              `json:"request_id"`
	Errors    []domain.FieldError `json:"errors,omitempty"`

	RetryAfter int    `json:"retry_after,omitempty"` // seconds; the header says the same
	SignIn     string `json:"sign_in,omitempty"`     // where a browser signs in, when it is not
}

// kind is how one domain code looks to a client: the title never changes per occurrence.
type kind struct {
	status int
	title  string
}

// kinds is the one table from domain codes to problems. The contract lists the same, and a test compares.
var kinds = map[domain.Code]kind{
	domain.Malformed:            {http.StatusBadRequest, "The request cannot be read"},
	domain.Invalid:              {http.StatusUnprocessableEntity, "The request breaks a rule"},
	domain.Unauthenticated:      {http.StatusUnauthorized, "A valid token is needed"},
	domain.Forbidden:            {http.StatusForbidden, "This member may not do that"},
	domain.CrossOrigin:          {http.StatusForbidden, "Another site made your browser send this"},
	domain.NotFound:             {http.StatusNotFound, "Not found"},
	domain.Conflict:             {http.StatusConflict, "It conflicts with what is stored"},
	domain.InTheWay:             {http.StatusConflict, "Another record is in the way"},
	domain.Removed:              {http.StatusConflict, "The record was removed"},
	domain.Erased:               {http.StatusConflict, "The person was erased"},
	domain.InUse:                {http.StatusConflict, "Other records stand on it"},
	domain.PreconditionRequired: {http.StatusPreconditionRequired, "If-Match is needed"},
	domain.Stale:                {http.StatusPreconditionFailed, "The record has changed"},
	domain.Incomplete:           {http.StatusRequestTimeout, "The body did not arrive"},
	domain.TooMany:              {http.StatusTooManyRequests, "Too many failed sign-ins"},
	domain.TooLarge:             {http.StatusRequestEntityTooLarge, "The body is too large"},
	domain.UnsupportedMedia:     {http.StatusUnsupportedMediaType, "The media type is not taken here"},
	domain.NotAcceptable:        {http.StatusNotAcceptable, "No accepted media type can be served"},
	domain.MethodNotAllowed:     {http.StatusMethodNotAllowed, "The method is not allowed here"},
	domain.Unavailable:          {http.StatusServiceUnavailable, "The service cannot do this at the moment"},
	domain.Timeout:              {http.StatusGatewayTimeout, "It took too long"},
	domain.Internal:             {http.StatusInternalServerError, "Something went wrong on our side"},
}

// ProblemType gives the type URI of a code, relative to the service.
func ProblemType(code domain.Code) string {
	return "/problems/" + strings.ReplaceAll(string(code), "_", "-")
}

// fail ends a request with the problem of an error. It is the one exit for refusals: nothing else writes one.
func fail(c *gin.Context, err error) {
	problem, e := problemOf(c, err)
	c.Set(failureKey, e)
	h := c.Writer.Header()
	switch {
	case e.Code == domain.Unauthenticated:
		h.Set("WWW-Authenticate", challenge(c))
	case e.Retry > 0:
		h.Set("Retry-After", strconv.Itoa(problem.RetryAfter))
	case e.Rev > 0:
		h.Set("ETag", etag(e.Rev))
	}
	body, err := json.Marshal(problem)
	if err != nil { // a struct of strings always marshals
		body = []byte("{}")
	}
	h.Set("Cache-Control", "no-store")
	c.Data(problem.Status, "application/problem+json", body)
	c.Abort()
}

// problemOf gives the problem of an error, and the error as one of the domain's.
func problemOf(c *gin.Context, err error) (Problem, *domain.Error) {
	e := asError(err)
	k := kinds[e.Code]
	p := Problem{
		Type: ProblemType(e.Code), Title: k.title, Status: k.status, Detail: e.Message,
		Instance: c.Request.URL.Path, RequestID: requestID(c), Errors: e.Fields,
		RetryAfter: int(e.Retry.Seconds()),
	}
	if e.Code == domain.Unauthenticated && c.GetHeader("Authorization") == "" {
		p.SignIn = signInPath
	}
	return p, e
}

// asError gives any error as one of the domain's; what it does not know is internal and says nothing of itself.
func asError(err error) *domain.Error {
	if e, ok := errors.AsType[*domain.Error](err); ok {
		if _, known := kinds[e.Code]; known && e.Code != domain.Internal {
			return e
		}
	}
	return &domain.Error{Code: domain.Internal, Cause: err,
		Message: "The request failed; nothing was written. If it goes on, report the request_id."}
}

// challenge follows RFC 6750: no error code when no credentials were sent.
func challenge(c *gin.Context) string {
	if c.GetHeader("Authorization") == "" {
		return `Bearer realm="cagework"`
	}
	return `Bearer realm="cagework", error="invalid_token"`
}

// badParameter refuses a path, query or header parameter that the generated wrapper could not read.
func badParameter(c *gin.Context, err error, _ int) {
	name := parameterIn(err.Error())
	e := domain.Errorf(domain.Malformed, "A parameter cannot be read.")
	e.Cause = err
	if name != "" {
		e.Fields = []domain.FieldError{{Pointer: name, Detail: fmt.Sprintf("%s is not of the right form", name)}}
	}
	fail(c, e)
}

// parameterIn finds the name in the wrapper's untyped errors, such as "Invalid format for parameter id: ...".
func parameterIn(text string) string {
	_, after, found := strings.Cut(text, "parameter ")
	if !found {
		return ""
	}
	name, _, _ := strings.Cut(after, ":")
	return strings.Trim(strings.Fields(name + " ")[0], `"',`)
}
