//go:build !soak

package main

// How much of the tests that run whole processes is done; -tags soak does more.
const (
	kills   = 12 // of each command
	writers = 8  // at once
	appends = 4  // of each writer

	seasons = 12 // of logbooks drawn at random, through every command
)
