// Package session reads and writes a logbook's dives.csv: what a person wrote
// down, in SI-like base units, and nothing about what it means. It believes
// that what was not measured stays not measured, that a cell which cannot be
// read is told with its place rather than guessed at, and that every problem
// of a file is told at once.
package session

import "time"

// A Log is one dives.csv.
type Log struct {
	File     string   // as named in problems
	Header   int      // line of the header
	Columns  []string // header as found, unknown columns included
	Dives    []Dive
	Warnings []error // odd but acceptable: unknown columns, for one
}

// A Dive is a run of lines with one label, in the order they were made.
type Dive struct {
	Label   string
	Date    time.Time // day, UTC
	Battery string    // label of the battery used, that of the dive before where none is given
	Lines   []Line
}

// A Drive is one thruster that ran on a line. Reversed is "astern" for a
// surge thruster, "down" for a heave thruster.
type Drive struct {
	Name     string
	Reversed bool
}

// A Value is a number that may not have been measured. The zero Value was
// not.
type Value struct {
	X       float64 // base unit
	Entered float64 // as written, in the column's unit
	Column  *Column // where it was written; nil: not measured
	Run     float64 // m, for a timed run: the distance that Entered seconds belong to
}

// Measured says whether there is a number.
func (v Value) Measured() bool { return v.Column != nil }
