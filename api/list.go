package api

import (
	"context"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"net/http"

	"github.com/gin-gonic/gin"
	openapi_types "github.com/oapi-codegen/runtime/types"

	"cagework/domain"
)

type ctx = context.Context

type lister[F, K any] interface {
	List(c ctx, a domain.Actor, q domain.Query) (domain.Page[domain.Record[F, K]], error)
}

// pageBody is a page of a list as it is sent.
type pageBody[T any] struct {
	Items      []T     `json:"items"`
	NextCursor *string `json:"next_cursor"`
}

// list answers with a page. Its cursor names the record after which the next page begins, and the filter it was
// made under; it grants nothing.
func list[F, K any](c *gin.Context, store lister[F, K], limit *int, cursor *string, filter domain.Filter) {
	q := domain.Query{Filter: filter}
	if limit != nil {
		if *limit < 1 {
			fail(c, badQuery("limit", "must be 1 or more"))
			return
		}
		q.Limit = *limit
	}
	if cursor != nil {
		after, ok := readCursor(c.FullPath(), *cursor, filter)
		if !ok {
			fail(c, badQuery("cursor", "is not a cursor of this list and filter"))
			return
		}
		q.After = &after
	}
	page, err := store.List(c.Request.Context(), actor(c), q)
	if err != nil {
		fail(c, err)
		return
	}
	body := pageBody[domain.Record[F, K]]{Items: page.Items}
	if page.Next != nil {
		next := writeCursor(c.FullPath(), *page.Next, filter)
		body.NextCursor = &next
		c.Header("Link", "<"+withCursor(c, next)+`>; rel="next"`)
	}
	writeJSON(c, http.StatusOK, body)
}

// listOfWeek is list for what belongs to a day: it can be narrowed to a week.
func listOfWeek[F, K any](c *gin.Context, store lister[F, K], limit *int, cursor, week *string, filter domain.Filter) {
	if week != nil {
		w, err := domain.ParseWeek(*week)
		if err != nil {
			fail(c, badQuery("week", err.Error()))
			return
		}
		filter.Week = &w
	}
	list(c, store, limit, cursor, filter)
}

// badQuery refuses a query parameter that the wrapper could read but that says nothing.
func badQuery(name, detail string) error {
	return &domain.Error{Code: domain.Malformed, Message: "A parameter cannot be read.",
		Fields: []domain.FieldError{{Pointer: name, Detail: detail}}}
}

func withCursor(c *gin.Context, cursor string) string {
	u := *c.Request.URL
	q := u.Query()
	q.Set("cursor", cursor)
	u.RawQuery = q.Encode()
	return u.RequestURI()
}

const cursorVersion = 1

// A cursor is a version, eight bytes that tell its list and filter from others, and an id.
func writeCursor(route string, id domain.ID, f domain.Filter) string {
	raw := append([]byte{cursorVersion}, fingerprint(route, f)...)
	return base64.RawURLEncoding.EncodeToString(append(raw, id[:]...))
}

func readCursor(route, cursor string, f domain.Filter) (domain.ID, bool) {
	raw, err := base64.RawURLEncoding.Strict().DecodeString(cursor)
	if err != nil || len(raw) != 1+8+16 || raw[0] != cursorVersion || string(raw[1:9]) != string(fingerprint(route, f)) {
		return domain.ID{}, false
	}
	return domain.ID(raw[9:]), true
}

func fingerprint(route string, f domain.Filter) []byte {
	filter, _ := json.Marshal(f) // ids always marshal
	sum := sha256.Sum256(append([]byte(route+"\n"), filter...))
	return sum[:8]
}

// idOf turns an optional id parameter into the domain's.
func idOf(id *openapi_types.UUID) *domain.ID { return (*domain.ID)(id) }

// writeJSON sends a body; responses carry every field.
func writeJSON(c *gin.Context, status int, v any) {
	body, err := json.Marshal(v)
	if err != nil {
		fail(c, err)
		return
	}
	if c.Writer.Header().Get("Cache-Control") == "" {
		c.Header("Cache-Control", "private, no-cache")
	}
	c.Header("Vary", "Authorization, Cookie, Accept")
	c.Data(status, "application/json", body)
}
