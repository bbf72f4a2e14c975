//go:build soak

package main

import (
	"os"
	"time"
)

const (
	kills      = 1000
	writers    = 8
	appends    = 200
	injections = 1000

	drawn = 2000

	rehearsed = "30"
)

// soakFor is how long system calls are made to fail: an hour, or as SOAK says.
func soakFor() time.Duration {
	if d, err := time.ParseDuration(os.Getenv("SOAK")); err == nil {
		return d
	}
	return time.Hour
}
