package session

import (
	"encoding/csv"
	"io"
	"reflect"
	"slices"

	"github.com/gocarina/gocsv"
)

// Write writes a log in the given columns so that Read reads back the same log. What was not
// measured is an empty cell. What carries forward is written where it changes, except the tether
// paid out, which is written on every line. What has no column is left out. names are columns of
// the table, one for each quantity, "dive" among them. The error is that of w.
func Write(w io.Writer, names []string, log *Log) error {
	e := &rowEncoder{has: map[string]*Column{}}
	for _, n := range names {
		c := byName[n]
		e.columns, e.has[c.Quantity] = append(e.columns, c), c
	}
	out := &columnWriter{csv.NewWriter(w), e.columns, make([]string, len(names))}
	if err := out.Writer.Write(names); err != nil {
		return err
	}
	var lines []csvLine
	for _, dive := range log.Dives {
		e.before, lines = nil, slices.Grow(lines[:0], len(dive.Lines))
		for i := range dive.Lines {
			var row csvLine
			fields := reflect.ValueOf(&row).Elem()
			for _, c := range e.columns {
				fields.Field(c.field).SetString(e.cell(c, &dive, &dive.Lines[i]))
			}
			lines, e.before = append(lines, row), &dive.Lines[i]
		}
		e.battery = dive.Battery
		if err := gocsv.MarshalCSVWithoutHeaders(lines, out); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// columnWriter writes some columns of each line.
type columnWriter struct {
	*csv.Writer
	columns []*Column
	row     []string
}

// Write takes one cell for every column of the table and writes those of c.columns.
func (c *columnWriter) Write(all []string) error {
	for i, col := range c.columns {
		c.row[i] = all[col.field]
	}
	return c.Writer.Write(c.row)
}
