package api

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"runtime/debug"
	"strconv"
	"time"

	"github.com/gin-gonic/gin"

	"cagework/domain"
)

const (
	requestIDKey = "request_id"
	failureKey   = "failure"
	actorKey     = "actor"
	operationKey = "operation"
)

func requestID(c *gin.Context) string { return c.GetString(requestIDKey) }

// observe gives the request an id, logs one line for it, counts it and notes who looked. The line holds the route's
// pattern and the record's id, and no path, body, name or token.
func (s *Server) observe(c *gin.Context) {
	start := time.Now()
	id := c.GetHeader("Request-Id")
	if !saneRequestID(id) {
		id = domain.NewID(start).String()
	}
	c.Set(requestIDKey, id)
	c.Header("Request-Id", id)
	c.Header("X-Content-Type-Options", "nosniff")
	if len(c.Request.TransferEncoding) > 0 { // the server drops a Content-Length beside it, so that nobody can tell any more
		c.Header("Connection", "close")
	}
	s.cfg.Metrics.begin()
	client := c.Request.Context() // the request's own context is later one that always ends with the request
	c.Next()
	took := time.Since(start)
	route, status := c.FullPath(), c.Writer.Status()
	if route == "" {
		route = "none"
	}
	if errors.Is(client.Err(), context.Canceled) {
		status = 499 // the client left; nothing was ours
	}
	s.cfg.Metrics.end(route, c.Request.Method, status, took)
	s.cfg.Metrics.shed(shedOf(c))
	s.logLine(c, route, status, took)
	s.noteAccess(c)
}

func (s *Server) logLine(c *gin.Context, route string, status int, took time.Duration) {
	attrs := []slog.Attr{
		slog.String("request_id", requestID(c)), slog.String("method", c.Request.Method),
		slog.String("route", route), slog.Int("status", status), slog.Int("bytes", max(c.Writer.Size(), 0)),
		slog.Duration("took", took),
	}
	if a, ok := c.Get(actorKey); ok {
		actor := a.(domain.Actor)
		attrs = append(attrs, slog.String("program_id", actor.ProgramID.String()),
			slog.String("member_id", actor.MemberID.String()), slog.String("role", string(actor.Role)))
	}
	if id, ok := readID(c.Param("id")); ok {
		attrs = append(attrs, slog.String("record_id", id.String()))
	}
	level := slog.LevelInfo
	if status >= http.StatusInternalServerError {
		level = slog.LevelError
	}
	if shedOf(c) != "" {
		level = slog.LevelWarn // nothing is broken
	}
	if f, ok := c.Get(failureKey); ok {
		e := f.(*domain.Error)
		attrs = append(attrs, slog.String("problem", string(e.Code)))
		if e.Cause != nil && level >= slog.LevelWarn {
			attrs = append(attrs, slog.String("cause", e.Cause.Error()))
		}
	}
	s.cfg.Log.LogAttrs(c.Request.Context(), level, "request", attrs...)
}

// shedOf tells of what there was too much when the request was turned away, "" when it was not.
func shedOf(c *gin.Context) domain.Shed {
	if f, ok := c.Get(failureKey); ok {
		why, _ := errors.AsType[domain.Shed](f.(*domain.Error))
		return why
	}
	return ""
}

// saneRequestID keeps a caller's id out of the log unless it is a short plain token.
func saneRequestID(id string) bool {
	if id == "" || len(id) > 64 {
		return false
	}
	for _, r := range id {
		if (r < '0' || r > '9') && (r < 'a' || r > 'z') && (r < 'A' || r > 'Z') && r != '-' && r != '_' && r != '.' {
			return false
		}
	}
	return true
}

// recoverPanic turns a panic into a problem and logs its stack. A handler that gives up the connection on purpose
// is let through.
func (s *Server) recoverPanic(c *gin.Context) {
	defer func() {
		v := recover()
		if v == nil {
			return
		}
		if err, ok := v.(error); ok && errors.Is(err, http.ErrAbortHandler) {
			panic(v)
		}
		s.cfg.Log.LogAttrs(c.Request.Context(), slog.LevelError, "panic",
			slog.String("request_id", requestID(c)), slog.String("stack", string(debug.Stack())))
		fail(c, fmt.Errorf("panic: %v", v))
	}()
	c.Next()
}

// limit bounds how many requests run at once and how long each takes, from when its body is there. The routes that say whether
// the service lives pass when it is full.
func (s *Server) limit(c *gin.Context) {
	if p := c.Request.URL.Path; p == "/healthz" || p == "/readyz" {
		c.Next()
		return
	}
	select {
	case s.slots.all <- struct{}{}:
		defer func() { <-s.slots.all }()
	default:
		fail(c, crowded(domain.ShedInFlight, "The service is busy."))
		return
	}
	ctx, cancel := context.WithTimeout(c.Request.Context(), s.cfg.RequestTimeout)
	defer cancel()
	c.Request = c.Request.WithContext(ctx)
	c.Next()
}

func tooLarge(limit int64) error {
	return domain.Errorf(domain.TooLarge, "The body may have at most %s bytes.", strconv.FormatInt(limit, 10))
}

// asGet answers HEAD like GET; the HTTP server leaves the body out.
func asGet(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method == http.MethodHead {
			r = r.Clone(r.Context())
			r.Method = http.MethodGet
		}
		next.ServeHTTP(w, r)
	})
}
