//go:build soak

package main

const (
	kills   = 1000
	writers = 8
	appends = 200

	seasons = 2000
)
