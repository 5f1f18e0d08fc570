package api

import (
	"net/http"

	"github.com/gin-gonic/gin"
)

// GetHealth tells that the process lives. It never touches the database.
func (s *Server) GetHealth(c *gin.Context) {
	writeJSON(c, http.StatusOK, gin.H{"status": "ok"})
}

// readiness says whether the service can work and, when not, why.
type readiness struct {
	Status string  `json:"status"`
	Reason *string `json:"reason"`
}

// GetReadiness tells whether the service can work: the database answers, at the schema version that it needs.
func (s *Server) GetReadiness(c *gin.Context) {
	if problem := s.cfg.Ready(c.Request.Context()); problem != "" {
		writeJSON(c, http.StatusServiceUnavailable, readiness{"not_ready", &problem})
		return
	}
	writeJSON(c, http.StatusOK, readiness{"ready", nil})
}
