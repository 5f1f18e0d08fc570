package main

import "runtime/debug"

// version is stamped by a release build: -ldflags "-X main.version=v1.2.3".
var version = ""

type versionCmd struct{}

// Run prints the version.
func (versionCmd) Run(c *console) error {
	c.printf("%s\n", versionText())
	return nil
}

func versionText() string {
	if version != "" {
		return version
	}
	if info, ok := debug.ReadBuildInfo(); ok && info.Main.Version != "" {
		return info.Main.Version
	}
	return "(devel)"
}
