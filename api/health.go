package api

import (
	"net/http"

	"github.com/gin-gonic/gin"
)

// GetHealth tells that the process lives. It never touches the database.
func (s *Server) GetHealth(c *gin.Context) {
	writeJSON(c, http.StatusOK, gin.H{"status": "ok"})
}

// readiness says what the service can do and, when that is not everything, why.
type readiness struct {
	Status  string   `json:"status"`
	Reads   bool     `json:"reads"`
	Writes  bool     `json:"writes"`
	Reason  *string  `json:"reason"`
	Reasons []string `json:"reasons"`
}

// GetReadiness tells what the service can do with its database. It is ready when that is everything.
func (s *Server) GetReadiness(c *gin.Context) {
	found := s.cfg.Ready(c.Request.Context())
	said := readiness{Status: "ready", Reads: found.Reads, Writes: found.Writes, Reasons: append([]string{}, found.Reasons...)}
	if found.Ready() {
		writeJSON(c, http.StatusOK, said)
		return
	}
	reason := found.Reason()
	said.Status, said.Reason = "not_ready", &reason
	if found.Reads {
		said.Status = "reads_only"
	}
	writeJSON(c, http.StatusServiceUnavailable, said)
}
