package session

import (
	"encoding/csv"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

// Write writes a log in the given columns, each in its own unit. What was not
// measured is an empty cell; what carries forward is written where it
// changes.
func Write(w io.Writer, names []string, log *Log) error {
	cols := make([]*Column, len(names))
	for i, n := range names {
		c, ok := Find(n)
		if !ok {
			return fmt.Errorf("no column %q", n)
		}
		cols[i] = c
	}
	out := csv.NewWriter(w)
	if err := out.Write(names); err != nil {
		return err
	}
	ballast := 0.0
	row := make([]string, len(cols))
	for d := range log.Dives {
		dive := &log.Dives[d]
		for i := range dive.Lines {
			var before *Line
			if i > 0 {
				before = &dive.Lines[i-1]
			}
			for k, c := range cols {
				row[k] = c.written(dive, &dive.Lines[i], before, dive.Lines[i].BallastG-ballast)
			}
			ballast = dive.Lines[i].BallastG
			if err := out.Write(row); err != nil {
				return err
			}
		}
	}
	out.Flush()
	return out.Error()
}

// written is a line's cell in column c.
func (c *Column) written(d *Dive, l, before *Line, ballast float64) string {
	switch c.Quantity {
	case "dive":
		return harmless(d.Label)
	case "date":
		if before != nil {
			return ""
		}
		return d.Date.Format(time.DateOnly)
	case "thrusters":
		return drivesText(l)
	case "lights":
		return yesText(l.Lights, "on")
	case "held":
		return yesText(l.Held, "yes")
	case "serviced":
		return strings.Join(l.Serviced, "+")
	case "note":
		return harmless(l.Note)
	case "ballast":
		if ballast == 0 {
			return ""
		}
		return c.number10(ballast)
	case "salinity":
		if before != nil && before.Salinity == l.Salinity {
			return ""
		}
		return c.number10(l.Salinity)
	case "water":
		if before != nil && before.WaterC.X == l.WaterC.X && before.WaterC.Measured() == l.WaterC.Measured() {
			return ""
		}
		return c.value(l.WaterC)
	case "minute":
		return c.value(l.Minute)
	case "depth":
		return c.value(l.Depth)
	case "tether":
		return c.value(l.TetherOut)
	}
	for q, name := range quantityNames {
		if c.Quantity == name {
			return c.value(l.Readings[q])
		}
	}
	return ""
}

func (c *Column) value(v Value) string {
	if !v.Measured() {
		return ""
	}
	if v.Column == c {
		return strconv.FormatFloat(v.Entered, 'f', -1, 64)
	}
	return c.number10(v.X)
}

func (c *Column) number10(base float64) string {
	return strconv.FormatFloat(c.FromBase(base), 'f', -1, 64)
}

func yesText(b bool, word string) string {
	if b {
		return word
	}
	return ""
}

func drivesText(l *Line) string {
	if !l.Electrical {
		return ""
	}
	if len(l.Drives) == 0 {
		return "off"
	}
	parts := make([]string, len(l.Drives))
	for i, d := range l.Drives {
		parts[i] = d.Name
		if d.Reversed {
			parts[i] += " astern"
		}
	}
	return strings.Join(parts, " + ")
}

// harmless keeps a spreadsheet from running text as a formula.
func harmless(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r", rune(s[0])) {
		return "'" + s
	}
	return s
}

// SaveFile writes a file whole or not at all: to a temporary one beside it,
// synced, then renamed over it.
func SaveFile(path string, write func(io.Writer) error) error {
	f, err := os.CreateTemp(filepath.Dir(path), ".sagline-*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	if err := write(f); err != nil {
		f.Close()
		return err
	}
	if err := f.Sync(); err != nil {
		f.Close()
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	if err := os.Chmod(f.Name(), 0o644); err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
}
