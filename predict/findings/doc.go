// Package findings holds what a log shows, as package drift works it out and commands,
// pictures and pages show it: each dive's own estimates, trends, alarms and findings, and
// how all of these are worded. It decides nothing but what of it is said, and by which word.
// It assumes that a Report is whole, that its estimates are in their quantities' own units
// (causes.Scale.Unit) until In turns them into the reader's, and that intervals hold 95 %.
package findings
