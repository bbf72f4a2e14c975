package importer

import (
	"strings"

	"sagline/session"
)

// Thruster is what a word for one thruster stands for, in any of the ways that
// people write it: a known name with the way it ran, or "off"; "" where it
// stands for none of them.
func Thruster(word string, known []string) string {
	if isOf("off", folded(word)) {
		return "off"
	}
	name, way := direction(word)
	if to := guessDrive(name, known); to != Asked {
		return to + way
	}
	return ""
}

// InUnit is a number in a unit, by any of its spellings, as a cell of a column;
// ok is false where the two do not go together. same says that the column is in
// that unit.
func InUnit(number, spelling string, c *session.Column) (cell string, same, ok bool) {
	u, known := findUnit(spelling)
	if !known || c.Unit == "" {
		return "", false, false
	}
	if u, ok = u.fits(c); !ok {
		return "", false, false
	}
	times, plus := u.to(c)
	return converted(number, times, plus), times == 1 && plus == 0, true
}

// IsUnit says whether a word is the spelling of a unit.
func IsUnit(word string) bool { _, ok := findUnit(word); return ok }

// Services are what a note says was worked on, joined by +; "" where it says
// nothing of that.
func Services(note string) string {
	done, _ := strings.CutPrefix(workIn(note), "serviced ")
	if strings.HasPrefix(done, "ballast_g ") {
		return ""
	}
	return done
}
