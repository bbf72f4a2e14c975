package importer

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"sagline/session"
	"sagline/session/problem"
)

// put writes one foreign cell into a line's cells; the error says what was
// found and what is wanted.
func (c *converter) put(cells session.Row, m *Match, text string) error {
	if m.To == stamp || m.To == "date" {
		return c.putDate(cells, m, text)
	}
	column, _ := session.Find(m.To)
	switch column.Quantity {
	case "clock":
		_, clock := splitStamp(text)
		x, err := readClock(cmp.Or(clock, text))
		if err == nil {
			cells["time"] = session.ClockText(x / 60)
		}
		return err
	case "lights", "held":
		return c.putYes(cells, column, text)
	case "thrusters":
		if m.Drive != "" {
			return c.putSwitch(cells, m, text)
		}
		return c.putDrives(cells, text)
	case "serviced":
		putServiced(cells, text)
	case "note":
		addNote(cells, text)
	default:
		if column.Unit == "" {
			cells[column.Name] = text
			return nil
		}
		x, err := c.number(m, column, text)
		if err == nil {
			cells[column.Name] = x
		}
		return err
	}
	return nil
}

func (c *converter) putDate(cells session.Row, m *Match, text string) error {
	day, clock, timed, err := readStamp(text, c.m.Date)
	if err != nil {
		return err
	}
	cells["date"] = day.Format(time.DateOnly)
	if timed && m.To == stamp {
		cells["time"] = session.ClockText(clock / 60)
	}
	return nil
}

// number is a cell as a number of a column. A unit that stands in the cell
// overrules the heading's.
func (c *converter) number(m *Match, column *session.Column, text string) (string, error) {
	if strings.Contains(text, ":") && dimensionOf(column) == seconds {
		x, err := readElapsed(text)
		if err != nil {
			return "", err
		}
		times, _ := unit{dimension: seconds, times: 1}.to(column)
		return short(x * times), nil
	}
	number, unit := cutUnit(text)
	times, plus := m.Times, m.Plus
	if unit != "" {
		u, _ := findUnit(unit)
		u, ok := u.fits(column)
		if !ok {
			return "", fmt.Errorf("found %s, want a number in %s", problem.Quote(text), column.Unit)
		}
		times, plus = u.to(column)
	}
	digits, err := plain(number, c.m.Decimal)
	if err != nil {
		return "", fmt.Errorf("%w in %s", err, column.Unit)
	}
	return converted(digits, times, plus), nil
}

func (c *converter) putYes(cells session.Row, column *session.Column, text string) error {
	yes, no := "on", "off"
	if column.Quantity == "held" {
		yes, no = "yes", "no"
	}
	switch {
	case isWord(text, c.m.Yes):
		cells[column.Name] = yes
	case isWord(text, c.m.No):
		cells[column.Name] = no
	default:
		return c.m.wantYesOrNo(text)
	}
	return nil
}

func (m *Mapping) wantYesOrNo(text string) error {
	return fmt.Errorf("found %s, want one of the words under yes or no: %s; %s", problem.Quote(text), strings.Join(m.Yes, " "), strings.Join(m.No, " "))
}

func (c *converter) putDrives(cells session.Row, text string) error {
	written, unknown := c.m.drives(text, c.k.Thrusters)
	for _, w := range unknown {
		if c.m.Thrusters[w] != Asked { // which is a question
			return fmt.Errorf("found %s, want a name under [thrusters]%s", problem.Quote(w), problem.Suggest(w, c.k.Thrusters))
		}
	}
	if len(unknown) == 0 {
		cells["thrusters"] = written
	}
	return nil
}

// partWords are what people write of what can be worked on, beside its name.
var partWords = map[string]string{"tether": "cable", "joint": "splice connector solder crimp terminal plug", "thruster": "motor", "propeller": "prop blade",
	"seal": "oring gasket grease leak potting", "battery": "batt akku", "ballast": "lead weight trimmed", "lights": "light lamp", "voltmeter": "multimeter"}

// putServiced finds the parts in free text, and keeps the text in the note
// where it says more.
func putServiced(cells session.Row, text string) {
	words := wordsOf(strings.ReplaceAll(strings.ToLower(text), "o-ring", "oring"))
	found := slices.DeleteFunc(slices.Clone(session.Serviceable), func(part string) bool {
		stems := strings.Fields(part + " " + partWords[part])
		return !slices.ContainsFunc(words, func(w string) bool { return slices.ContainsFunc(stems, func(s string) bool { return begins(w, s) }) })
	})
	if len(found) > 0 {
		cells["serviced"] = strings.Join(found, "+")
	}
	if len(found) != len(words) {
		addNote(cells, "serviced: "+text)
	}
}

func addNote(cells session.Row, text string) {
	if cells["note"] != "" {
		text = cells["note"] + "; " + text
	}
	cells["note"] = text
}
