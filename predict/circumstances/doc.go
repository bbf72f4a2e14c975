// Package circumstances says under what the lines of a dive were read: what is written down, and
// for what is not the likeliest value, with how far that may be off. It assumes that the dives of a
// log are made alike, and lines of one kind at similar depths.
package circumstances
