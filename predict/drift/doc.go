// Package drift says what changes over many dives, since when, how fast and
// how sure that is. It assumes that a cause of package causes begins at one
// dive and then steps, ramps, comes and goes, or lasts one dive only; that
// sound dives scatter; and that an alarm may use only what was known at its
// dive. Every hypothesis is linear in a few amplitudes, so its evidence, with
// the calibration's uncertainty shared by all dives, is exact for the summaries
// that package fit makes.
package drift
