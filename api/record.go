package api

import (
	"net/http"

	"github.com/gin-gonic/gin"
	openapi_types "github.com/oapi-codegen/runtime/types"

	"cagework/domain"
)

// uuid is an id as the generated wrapper reads it from a path.
type uuid = openapi_types.UUID

// The five ways to handle a plain record, the same for every noun. Each is: read the request, call the store,
// answer.

type getter[F, K any] interface {
	Get(c ctx, a domain.Actor, id domain.ID) (domain.Record[F, K], error)
}

type putter[F, K any] interface {
	Put(c ctx, a domain.Actor, id domain.ID, fields F) (domain.Record[F, K], domain.Written, error)
}

type patcher[F, K any] interface {
	Patch(c ctx, a domain.Actor, id domain.ID, rev domain.Rev, change func(F) (F, error)) (domain.Record[F, K], error)
}

type remover interface {
	Remove(c ctx, a domain.Actor, id domain.ID, rev domain.Rev) error
}

func get[F, K any](c *gin.Context, store getter[F, K], id uuid) {
	rec, err := store.Get(c.Request.Context(), actor(c), domain.ID(id))
	if err != nil {
		fail(c, err)
		return
	}
	c.Header("ETag", etag(rec.Rev))
	writeJSON(c, http.StatusOK, rec)
}

func put[F, K any](c *gin.Context, store putter[F, K], id uuid) {
	fields, err := decode[F](c)
	if err != nil {
		fail(c, err)
		return
	}
	rec, how, err := store.Put(c.Request.Context(), actor(c), domain.ID(id), fields)
	if err != nil {
		fail(c, err)
		return
	}
	c.Header("ETag", etag(rec.Rev))
	status := http.StatusOK
	if how == domain.Created {
		status = http.StatusCreated
		c.Header("Location", c.Request.URL.Path)
	}
	writeJSON(c, status, rec)
}

func patch[F, K any](c *gin.Context, store patcher[F, K], id uuid) {
	rev, body, err := patchRequest[F](c)
	if err != nil {
		fail(c, err)
		return
	}
	rec, err := store.Patch(c.Request.Context(), actor(c), domain.ID(id), rev, merge[F](body))
	if err != nil {
		fail(c, err)
		return
	}
	c.Header("ETag", etag(rec.Rev))
	writeJSON(c, http.StatusOK, rec)
}

func patchRequest[F any](c *gin.Context) (domain.Rev, []byte, error) {
	rev, err := ifMatch(c)
	if err != nil {
		return rev, nil, err
	}
	body, err := patchBody[F](c)
	return rev, body, err
}

func remove(c *gin.Context, store remover, id uuid) {
	rev, err := ifMatch(c)
	if err == nil {
		err = store.Remove(c.Request.Context(), actor(c), domain.ID(id), rev)
	}
	if err != nil {
		fail(c, err)
		return
	}
	c.Status(http.StatusNoContent)
	c.Writer.WriteHeaderNow()
}
