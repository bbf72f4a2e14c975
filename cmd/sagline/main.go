// Command sagline says to people who run a small tethered vehicle what its
// readings should be, which loss explains what they were, and what is
// drifting from dive to dive.
package main

import (
	"os"
	"runtime/debug"

	"sagline/session"
)

func main() {
	if os.Getenv("GOMEMLIMIT") == "" {
		debug.SetMemoryLimit(8 * session.MaxBytes) // garbage is collected before it takes more
	}
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(300) // a log is small: a tenth of the time goes into collecting it
	}
	os.Exit(Run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}
