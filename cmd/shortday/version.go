package main

import (
	"fmt"
	"runtime/debug"

	"shortday/knowledge/register"
)

// version tells which program this is, as it was built, and up to which tables it reads a register.
func version() string {
	built, goes := "unknown", "unknown"
	if info, ok := debug.ReadBuildInfo(); ok {
		built, goes = info.Main.Version, info.GoVersion
	}
	return fmt.Sprintf("shortday %s, built with %s; it reads registers with tables up to %d.", built, goes, register.Newest())
}
