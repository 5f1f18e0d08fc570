package local

import (
	"bufio"
	"os"
	"path/filepath"
	"strconv"
	"strings"
)

// postmaster is what a server writes about itself into its data directory, in postmaster.pid.
type postmaster struct {
	pid, port int
	// ready says that it accepts connections.
	ready bool
}

// The lines of postmaster.pid, counted from one, that matter here.
const (
	pidLine    = 1
	portLine   = 4
	statusLine = 8
)

// readPostmaster gives false when there is no such file, or none that could be a server's. The server writes the file
// piece by piece, so a port or a status may be missing for a moment.
func readPostmaster(data string) (postmaster, bool) {
	file, err := os.Open(filepath.Join(data, "postmaster.pid"))
	if err != nil {
		return postmaster{}, false
	}
	defer file.Close()

	var p postmaster
	lines := bufio.NewScanner(file)
	for number := pidLine; lines.Scan(); number++ {
		text := strings.TrimSpace(lines.Text())
		switch number {
		case pidLine:
			p.pid, _ = strconv.Atoi(text)
		case portLine:
			p.port, _ = strconv.Atoi(text)
		case statusLine:
			p.ready = text == "ready"
		}
	}
	// Zero and one are no server's, and less than that would mean whole groups of processes to the system's calls.
	return p, p.pid > 1
}
