package local

import "syscall"

const (
	tmpfs = 0x01021994
	// roomy is how much must be free in memory: enough for several test programs at once, each with many databases.
	roomy = 4 << 30
)

// memoryDir is the directory of a file system in memory, if there is one with enough room. A new database is hundreds of
// small files, which some disks take ten times as long for.
func memoryDir() (string, bool) {
	const dir = "/dev/shm"
	var stat syscall.Statfs_t
	if err := syscall.Statfs(dir, &stat); err != nil || stat.Type != tmpfs {
		return "", false
	}
	return dir, stat.Bavail*uint64(stat.Bsize) >= roomy //nolint:gosec // a block has a size
}
