//go:build !soak

package main

import "time"

// How much of the tests that run whole processes is done; -tags soak does more.
const (
	kills      = 12 // of each command
	writers    = 8  // at once
	appends    = 4  // of each writer
	injections = 24 // of a fault or a kill at a system call

	drawn = 2 // logbooks at random, through every command

	rehearsed = "1" // seasons of an example
)

// soakFor is how long system calls are made to fail at the least.
func soakFor() time.Duration { return 0 }
