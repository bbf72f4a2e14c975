// Command sagline tells people who run a small tethered vehicle what its readings should be, which
// loss explains what they were, and what drifts from dive to dive.
package main

import (
	"os"
	"runtime/debug"

	"sagline/session"
)

func main() {
	if os.Getenv("GOMEMLIMIT") == "" {
		debug.SetMemoryLimit(8 * session.MaxBytes) // the garbage collector runs before the heap exceeds it
	}
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(300) // a log is small, and collecting garbage takes a tenth of the time
	}
	os.Exit(Run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}
