package importer

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"sagline/session"
	"sagline/session/problem"
)

// put writes one foreign cell into a line's cells; the error says what was
// found and what is wanted.
func (t *taking) put(cells map[string]string, m *Match, text string) error {
	if m.To == stamp {
		return t.putStamp(cells, m, text)
	}
	c, _ := session.Find(m.To)
	switch c.Quantity {
	case "date":
		day, _, _, err := readStamp(text, t.m.Date, m.Form)
		if err == nil {
			cells["date"] = day.Format(time.DateOnly)
		}
		return err
	case "clock":
		_, clock := splitStamp(text)
		x, err := readClock(orElse(clock, text))
		if err == nil {
			cells["time"] = clockText(x)
		}
		return err
	case "lights", "held":
		return t.putYes(cells, c, text)
	case "thrusters":
		if m.Drive != "" {
			return t.putSwitch(cells, m, text)
		}
		return t.putDrives(cells, text)
	case "serviced":
		putServiced(cells, text)
	case "note":
		if m.Sure != Sure && t.notes > 1 {
			text = m.Heading + ": " + text
		}
		addNote(cells, text)
	case "dive":
		cells["dive"] = t.m.Prefix + text
	case "battery":
		cells["battery"] = text
	default:
		x, err := t.number(m, c, text)
		if err == nil {
			cells[c.Name] = x
		}
		return err
	}
	return nil
}

func (t *taking) putStamp(cells map[string]string, m *Match, text string) error {
	day, clock, timed, err := readStamp(text, t.m.Date, m.Form)
	if err != nil {
		return err
	}
	cells["date"] = day.Format(time.DateOnly)
	if timed {
		cells["time"] = clockText(clock)
	}
	return nil
}

// number is a cell as a number of column c. A unit that stands in the cell
// overrules the heading's.
func (t *taking) number(m *Match, c *session.Column, text string) (string, error) {
	if strings.Contains(text, ":") && dimensionOf(c) == seconds {
		x, err := readElapsed(text, m.Form)
		if err != nil {
			return "", err
		}
		return short(x * base(c)), nil
	}
	number, spelt := cutUnit(text)
	times, plus := m.Times, m.Plus
	if spelt != "" {
		u, _ := findUnit(spelt)
		u, ok := u.fits(c)
		if !ok {
			return "", fmt.Errorf("found %s, want a number in %s", problem.Quote(text), c.Unit)
		}
		times, plus = u.to(c)
	}
	digits, err := plain(number, t.m.Decimal)
	if err != nil {
		return "", fmt.Errorf("%w in %s", err, c.Unit)
	}
	return converted(digits, times, plus), nil
}

func (t *taking) putYes(cells map[string]string, c *session.Column, text string) error {
	is := func(words []string) bool {
		return slices.ContainsFunc(words, func(w string) bool { return strings.EqualFold(w, text) })
	}
	yes, no := "on", "off"
	if c.Quantity == "held" {
		yes, no = "yes", "no"
	}
	switch {
	case is(t.m.Yes):
		cells[c.Name] = yes
	case is(t.m.No):
		cells[c.Name] = no
	default:
		return fmt.Errorf("found %s, want one of the words under yes or no: %s; %s", problem.Quote(text),
			strings.Join(t.m.Yes, " "), strings.Join(t.m.No, " "))
	}
	return nil
}

func (t *taking) putDrives(cells map[string]string, text string) error {
	written, unknown := t.m.drives(text, t.k.Thrusters)
	if len(unknown) > 0 {
		for _, w := range unknown {
			if _, ok := t.m.lookUp(w); !ok {
				return fmt.Errorf("found %s, want a name under [thrusters]%s", problem.Quote(w), problem.Suggest(w, t.k.Thrusters))
			}
		}
		return nil // asked about already
	}
	cells["thrusters"] = written
	return nil
}

// partWords are what people write of the parts that a service is done to.
var partWords = map[string]string{"tether": "tether cable umbilical kabel leine",
	"joint":    "joint splice connector solder crimp terminal plug stecker verbindung lotstelle klemme",
	"thruster": "thruster motor motoren", "propeller": "propeller prop blade schraube", "seal": "seal oring gasket dichtung grease leak potting",
	"battery": "battery batt akku batterie cell", "ballast": "ballast lead blei weight trimmed",
	"hull": "hull rumpf coque growth fouling", "lights": "light lamp licht lampe", "camera": "camera kamera", "clamp": "clamp zangenamperemeter",
	"voltmeter": "voltmeter multimeter", "ohmmeter": "ohmmeter", "tape": "tape massband", "scale": "scale waage"}

// putServiced finds the parts in free text, and keeps the text in the note
// where it says more.
func putServiced(cells map[string]string, text string) {
	var found []string
	words := wordsOf(strings.ReplaceAll(strings.ToLower(text), "o-ring", "oring"))
	for _, part := range session.Serviceable {
		for stem := range strings.FieldsSeq(partWords[part]) {
			if !slices.Contains(found, part) && slices.ContainsFunc(words, func(w string) bool { return begins(w, stem) }) {
				found = append(found, part)
			}
		}
	}
	if len(found) > 0 {
		cells["serviced"] = strings.Join(found, "+")
	}
	if len(found) != len(words) {
		addNote(cells, "serviced: "+text)
	}
}

func addNote(cells map[string]string, text string) {
	if cells["note"] != "" {
		text = cells["note"] + "; " + text
	}
	cells["note"] = text
}

// clockText is seconds after midnight as hh:mm, with seconds where there are.
func clockText(seconds float64) string {
	s := int(math.Round(seconds)) % 86400
	if s%60 != 0 {
		return fmt.Sprintf("%02d:%02d:%02d", s/3600, s/60%60, s%60)
	}
	return fmt.Sprintf("%02d:%02d", s/3600, s/60%60)
}

// fixed is a number with so many decimals at the most.
func fixed(x float64, decimals int) string {
	s := strconv.FormatFloat(x, 'f', decimals, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}
