//go:build !linux

package local

// memoryDir is for Linux only.
func memoryDir() (string, bool) { return "", false }
