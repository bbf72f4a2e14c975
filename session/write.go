package session

import (
	"io"
	"strings"
	"time"
)

// Write writes a log that a program has made, in columns that Find knows, its
// numbers as they were put by those columns. What carries forward is written
// where it changes, but the tether paid out on every line.
func Write(w io.Writer, names []string, log *Log) error {
	f, err := OpenText(log.File, strings.Join(names, ",")+"\n")
	if err != nil {
		return err
	}
	var rows []Row
	battery, ballast := "", 0.0
	for i := range log.Dives {
		d := &log.Dives[i]
		for k := range d.Lines {
			row := f.rowOf(d, k, ballast)
			if ballast = d.Lines[k].BallastG; d.Battery == battery {
				delete(row, "battery")
			}
			battery = d.Battery
			rows = append(rows, row)
		}
	}
	if err := f.Append(rows...); err != nil {
		return err
	}
	_, err = io.WriteString(w, f.text())
	return err
}

// rowOf are the cells of a dive's k-th line in the file's columns.
func (f *File) rowOf(d *Dive, k int, ballast float64) Row {
	l, before := &d.Lines[k], &Line{}
	if k > 0 {
		before = &d.Lines[k-1]
	}
	row := Row{}
	for _, c := range f.columns {
		text, ok := textColumns[c.Quantity]
		switch {
		case ok:
			row[c.Name] = text.write(l)
		case c.Quantity == "dive":
			row[c.Name] = d.Label
		case c.Quantity == "date":
			row[c.Name] = d.Date.Format(time.DateOnly)
		case c.Quantity == "battery":
			row[c.Name] = d.Battery
		case c.Quantity == "ballast" && l.BallastG != ballast:
			row[c.Name] = c.fewestDigits(l.BallastG - ballast)
		case c.Quantity == "salinity" && (k == 0 || l.Salinity != before.Salinity):
			row[c.Name] = c.fewestDigits(l.Salinity)
		case c.Quantity != "water" || l.WaterC != before.WaterC:
			row[c.Name] = c.entered(l.of(c))
		}
	}
	return row
}
