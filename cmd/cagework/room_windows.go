package main

import "golang.org/x/sys/windows"

// room is how much space is left for us where a path is, and how much there is.
func room(path string) (free, all int64, err error) {
	name, err := windows.UTF16PtrFromString(path)
	if err != nil {
		return 0, 0, err
	}
	var ours, total, left uint64
	err = windows.GetDiskFreeSpaceEx(name, &ours, &total, &left)
	return int64(ours), int64(total), err //nolint:gosec // no disk is that large
}
