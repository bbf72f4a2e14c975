// Package circumstances says what the lines of a dive were read under: what is written
// down as it is, and of what is not the likeliest, with how far that may be off. It assumes that
// the dives of a log are made alike, and lines of one kind at like depths.
package circumstances
