//go:build unix

package main

import "golang.org/x/sys/unix"

// room is how much space is left for others than root where a path is, and how much there is.
func room(path string) (free, all int64, err error) {
	var s unix.Statfs_t
	if err := unix.Statfs(path, &s); err != nil {
		return 0, 0, err
	}
	block := int64(s.Bsize)                                      //nolint:unconvert // the types differ between systems
	return int64(s.Bavail) * block, int64(s.Blocks) * block, nil //nolint:gosec // no disk is that large
}
