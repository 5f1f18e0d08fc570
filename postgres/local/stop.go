package local

import (
	"context"
	"fmt"
)

// Stop ends the server and gives its directory free. Sessions that are open are ended; a persistent server writes
// everything down, a throwaway one is removed with its data. When the context ends first, the server goes on stopping
// without us. A second call does nothing.
func (s *Server) Stop(ctx context.Context) error {
	s.stopping.Lock()
	defer s.stopping.Unlock()
	if s.stopped {
		return nil
	}
	s.stopped = true
	defer s.lock.release()
	if s.guard != nil {
		return s.guard.dismiss(ctx, s.PID)
	}
	return s.stopPersistent(ctx)
}

func (s *Server) stopPersistent(ctx context.Context) error {
	data := s.cluster.data()
	if !running(s.PID, data) {
		return nil
	}
	if err := stopFast(s.cluster, s.PID); err != nil && running(s.PID, data) {
		return fmt.Errorf("local: stop the server in %s: %w", s.Dir, err)
	}
	for running(s.PID, data) {
		if err := sleep(ctx, 4*pause); err != nil {
			return fmt.Errorf("local: the server in %s is still stopping: %w", s.Dir, err)
		}
	}
	return nil
}
