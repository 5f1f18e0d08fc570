package local

import "fmt"

// serves looks at where the process is at home: a server's working directory is its data directory. What has ended but
// wasn't collected by its parent has none.
func serves(pid int, data string) bool {
	return sameFile(fmt.Sprintf("/proc/%d/cwd", pid), data)
}
