package session

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"

	"github.com/gocarina/gocsv"
)

// Write writes a log in the given columns, each in its own unit, so that Read
// reads it back as it was. What was not measured is an empty cell; what
// carries forward is written where it changes, but the tether paid out on
// every line; days are left out where no column is for them. Comments and columns that are not in the table are not part of
// a Log: a name that Find does not know is an error, and nothing is written
// before all columns have been judged. So are a clock for minutes that no
// clock showed, and a header that Read would refuse.
func Write(w io.Writer, names []string, log *Log) error {
	e, err := newRowEncoder(names, log)
	if err != nil {
		return err
	}
	out := &columnWriter{csv.NewWriter(w), e.columns, make([]string, len(names))}
	if err := out.Writer.Write(names); err != nil {
		return err
	}
	var lines []csvLine
	for d := range log.Dives {
		dive := &log.Dives[d]
		e.before, lines = nil, slices.Grow(lines[:0], len(dive.Lines))
		for i := range dive.Lines {
			r, err := e.line(dive, &dive.Lines[i])
			if err != nil {
				return err
			}
			lines, e.before = append(lines, r), &dive.Lines[i]
		}
		e.battery = dive.Battery
		if err := gocsv.MarshalCSVWithoutHeaders(lines, out); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// columnWriter writes of each line what its columns hold.
type columnWriter struct {
	*csv.Writer
	columns []*Column
	row     []string
}

// Write takes a cell for every column of the table.
func (c *columnWriter) Write(all []string) error {
	for i, col := range c.columns {
		c.row[i] = all[col.field]
	}
	return c.Writer.Write(c.row)
}

// newRowEncoder judges the columns by what Read would say of them.
func newRowEncoder(names []string, log *Log) (*rowEncoder, error) {
	e := &rowEncoder{has: map[string]*Column{}, columns: make([]*Column, len(names))}
	for i, n := range names {
		c, ok := Find(n)
		if !ok {
			return nil, fmt.Errorf("no column %q", n)
		}
		if o := e.has[c.Quantity]; o != nil {
			return nil, fmt.Errorf("columns %q and %q: want one of them", o.Name, n)
		}
		e.columns[i], e.has[c.Quantity] = c, c
	}
	if e.has["dive"] == nil {
		return nil, errors.New(`no column "dive" to write`)
	}
	return e, nil
}
