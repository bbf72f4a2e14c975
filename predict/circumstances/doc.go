// Package circumstances says under what conditions the lines of a dive were read: those written
// down, and for the others the likeliest values, with how far they may be off. It assumes that the
// dives of a log are made alike, and lines of one kind at similar depths.
package circumstances
