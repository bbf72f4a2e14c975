package importer

import (
	"cmp"
	"fmt"
	"strings"
	"time"

	"sagline/session"
	"sagline/session/problem"
)

// put writes one foreign cell into a line's cells; the error says what was
// found and what is wanted.
func (c *converter) put(cells session.Row, u *under, text string) error {
	m, to := u.Match, u.targets[0]
	if len(u.targets) > 1 {
		kept, err := c.putSeveral(cells, u.targets, text)
		if kept {
			addNote(cells, u.Heading+": "+text)
		}
		return err
	}
	if to.column == nil || to.name == "date" {
		return c.putDate(cells, m, text)
	}
	switch to.column.Quantity {
	case "clock":
		_, clock := splitStamp(text)
		x, err := readClock(cmp.Or(clock, text))
		if err == nil {
			cells["time"] = session.ClockText(x / 60)
		}
		return err
	case "lights", "held":
		return c.putYes(cells, to.column, text)
	case "thrusters":
		if m.Drive != "" {
			return c.putSwitch(cells, m, text)
		}
		return c.putDrives(cells, text)
	case "serviced":
		c.putServiced(cells, text)
	case "note":
		c.findWorkIn(cells, text)
		if text != u.last || u.prefix == "" { // a note says once what stays
			addNote(cells, u.prefix+text)
		}
		u.last = text
	default:
		if to.column.Unit == "" {
			if dive, _ := section(text); dive != "" && to.name == "dive" {
				text = dive
			}
			cells[to.name] = text
			return nil
		}
		number, of := cutUnit(text)
		x, err := c.number(to, number, of)
		if err == nil {
			cells[to.name] = x
		}
		return err
	}
	return nil
}

func (c *converter) putDate(cells session.Row, m *Match, text string) error {
	date, clock := splitStamp(text)
	day, err := c.days.read(date)
	if err != nil {
		return err
	}
	if clock != "" {
		at, err := readClock(clock)
		if err != nil {
			return err
		}
		if m.To == stamp {
			cells["time"] = session.ClockText(at / 60)
		}
	}
	cells["date"] = day.Format(time.DateOnly)
	return nil
}

// number is a number as a target's. A unit that stands in the cell overrules
// the heading's.
func (c *converter) number(t target, number string, of *unit) (string, error) {
	if strings.Contains(number, ":") && dimensionOf(t.column) == seconds {
		x, err := readElapsed(number)
		if err != nil {
			return "", err
		}
		times, _ := unit{dimension: seconds, times: 1}.to(t.column)
		return short(x * times), nil
	}
	times, plus := t.times, t.plus
	if of != nil {
		u, ok := of.fits(t.column)
		if !ok {
			return "", fmt.Errorf("found a number in another unit, want one in %s", t.column.Unit)
		}
		times, plus = u.to(t.column)
	}
	digits, err := plain(number, c.m.Decimal)
	if err != nil {
		return "", fmt.Errorf("%w in %s", err, t.column.Unit)
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
