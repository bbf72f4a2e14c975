// Package findings holds the report of what a log shows: each dive's own estimates, trends, alarms
// and findings, and how they are worded. Package drift computes them; commands, pictures and pages
// show them. This package decides only what is said and in which words. It assumes that a Report is
// complete, that its estimates are in their quantities' own units (causes.Scale.Unit) until In
// converts them to the reader's, and that intervals hold 95 %.
package findings
