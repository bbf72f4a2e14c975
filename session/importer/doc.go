// Package importer takes in what another program or person wrote: a club's old
// spreadsheet, a logger's samples. It matches headings to the columns of
// dives.csv by their words and units, and believes that such a match is a
// proposal: it says how sure it is and why, asks rather than guesses where two
// readings of a cell would do, and lets a mapping that a person has edited
// overrule it. Nothing of a file is left out without a word.
package importer
