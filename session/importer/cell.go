package importer

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"sagline/session"
	"sagline/session/problem"
	"sagline/session/spreadsheet"
	"sagline/session/wording"
)

// put converts one cell of the table into cells of a line. The error says what was found and what
// is wanted.
func (c *converter) put(cells session.Row, u *under, text string) error {
	to := u.targets[0]
	if len(u.targets) > 1 || to.measured() {
		return c.putNumbers(cells, u, text)
	}
	switch to.quantity {
	case "date", "clock", stamp, section:
		return c.putDate(cells, to.name, text)
	case "lights", "held":
		return c.putMark(cells, u, text)
	case "thrusters":
		if u.Drive != "" {
			return c.putMark(cells, u, text)
		}
		written, unknown := c.m.drives(text, c.k.Thrusters)
		if len(unknown) > 0 { // such words may be asked about
			return fmt.Errorf("found %s, want a name under [thrusters]%s", problem.Quote(unknown[0]), problem.Suggest(unknown[0], c.k.Thrusters))
		}
		cells["thrusters"] = written
	case "serviced":
		parts, all := wording.Parts(text)
		if parts != "" {
			cells["serviced"] = parts
		}
		if !all {
			addNote(cells, "serviced: "+text)
		}
	case "note":
		c.findWorkIn(cells, text)
		switch {
		case u.head.Noted:
			addNote(cells, text)
		case text != u.last: // a repeated text is noted once
			addNote(cells, u.Heading+": "+text)
		}
		u.last = text
	case "dive":
		dive, _ := spreadsheet.NamedIn(text)
		cells["dive"] = cmp.Or(dive, text)
	case "battery":
		cells["battery"] = text
	}
	return nil
}

// putDate writes the dive's label, day or clock, depending on the target to.
func (c *converter) putDate(cells session.Row, to, text string) error {
	dive, date := "", text
	if to == section {
		if dive, date = spreadsheet.NamedIn(text); dive != "" {
			cells["dive"] = dive
		}
	}
	date, clock := wording.SplitStamp(date)
	if to == "time" || to == stamp && clock != "" {
		x, err := wording.ReadClock(cmp.Or(clock, text))
		if err != nil {
			return err
		}
		cells["time"] = session.ClockText(x / 60)
	}
	if to == "time" || date == "" && dive != "" {
		return nil
	}
	day, err := c.days.Read(date)
	if err == nil {
		cells["date"] = day.Format(time.DateOnly)
	}
	return err
}

// number converts a number to the unit of t's column. A unit in the cell, of, takes precedence over
// the heading's.
func (c *converter) number(t target, number string, of *wording.Unit) (string, error) {
	if strings.Contains(number, ":") && wording.DimensionOf(t.column) == wording.Seconds {
		x, err := wording.ReadElapsed(number)
		cell, _, _ := wording.InUnit(wording.Short(x), wording.Seconds, t.column)
		return cell, err
	}
	digits, err := wording.Plain(number, c.m.Decimal)
	if err != nil && c.m.Decimal != Asked { // try the other decimal mark
		digits, err = wording.Plain(number, strings.Trim(".,", c.m.Decimal))
	}
	if err != nil {
		return "", fmt.Errorf("%w in %s", err, t.column.Unit)
	}
	times, plus := t.times, t.plus
	if of != nil {
		times, plus, _ = of.Into(t.column)
	}
	return wording.Converted(digits, times, plus), nil
}

// putMark writes what a word or mark says: that lights were on, that the vehicle was held, or how
// the thruster of a column of its own ran.
func (c *converter) putMark(cells session.Row, u *under, text string) error {
	way, ok := wording.Ran(text, c.m.Yes, c.m.No)
	switch before := cells["thrusters"]; {
	case !ok || u.Drive == "" && way == " astern":
		return fmt.Errorf("found %s, want one of the words under yes or no: %s; %s", problem.Quote(text), strings.Join(c.m.Yes, " "), strings.Join(c.m.No, " "))
	case u.Drive == "" && way == "":
		cells[u.To] = map[string]string{"lights": "on", "held": "yes"}[u.To]
	case u.Drive == "": // no, as an empty cell says
	case way == "off":
		c.marksOff = true
		cells["thrusters"] = cmp.Or(before, "off")
	case before == "" || before == "off":
		cells["thrusters"] = u.Drive + way
	default:
		cells["thrusters"] = before + " + " + u.Drive + way
	}
	return nil
}

// putNumbers writes the numbers of a cell into their columns. If one of them belongs in the note,
// the whole cell is noted.
func (c *converter) putNumbers(cells session.Row, u *under, text string) error {
	ps := wording.Pieces(text)
	if ps == nil {
		number, of := wording.CutUnit(text)
		ps = []wording.Piece{{Number: number, Unit: of}}
	}
	left := slices.DeleteFunc(slices.Clone(u.targets), func(t target) bool {
		return t.fixed != "" || len(ps) == 1 && len(u.targets) > 1 && (t.name == "note" || t.rest)
	})
	found, note := session.Row{}, ""
	for _, p := range ps {
		i := slices.IndexFunc(left, func(t target) bool { // by its unit, else the next in order
			if p.Unit == nil || t.name == "note" {
				return true
			}
			_, _, ok := p.Unit.Into(t.column)
			return ok
		})
		if i < 0 || len(ps) == 1 && p.Unit == nil && len(left) > 1 && c.m.Alone != "first" {
			return fmt.Errorf("found %s, want %s for %s", problem.Quote(text), problem.Count(len(u.targets), "number"), u.To)
		}
		t := left[i]
		left = slices.Delete(left, i, i+1)
		if !t.measured() {
			note = u.Heading + ": " + text
			continue
		}
		number, err := c.number(t, p.Number, p.Unit)
		if err != nil {
			return err
		}
		found[t.name] = number
	}
	for _, t := range u.targets {
		if t.fixed != "" {
			found[t.name] = t.fixed
		}
	}
	maps.Copy(cells, found)
	addNote(cells, note)
	return nil
}

// findWorkIn writes the work that a note mentions, if a person has agreed to take it.
func (c *converter) findWorkIn(cells session.Row, text string) {
	for work := range strings.SplitSeq(c.m.Notes[text], wording.And) {
		if name, done, _ := strings.Cut(work, " "); c.m.Work == "yes" && done != "" && done != Asked && cells[name] == "" {
			cells[name] = done
		}
	}
}

// addNote appends a text to a line's note.
func addNote(cells session.Row, text string) {
	if before := cells["note"]; before != "" && text != "" {
		text = before + "; " + text
	}
	if text != "" {
		cells["note"] = text
	}
}
