package wording

import (
	"slices"
	"strings"
	"sync"
)

// joints replaces by + the words and marks with which people join names.
var joints = sync.OnceValue(func() *strings.Replacer {
	var pairs []string
	for _, w := range lists()["joins"] {
		if !strings.ContainsAny(w, "&/,;") {
			w = " " + w + " "
		}
		pairs = append(pairs, w, "+")
	}
	return strings.NewReplacer(pairs...)
})

// Joins reports whether a word joins two names.
func Joins(word string) bool {
	return Is("joins", strings.ToLower(word)) && !strings.EqualFold(word, "y") // also means yes
}

// Joined splits a text that joins several names.
func Joined(text string) []string { return strings.Split(joints().Replace(text), "+") }

// direction splits a thruster's name from the direction it ran in: " astern" or "".
func direction(text string) (name, way string) {
	i := strings.LastIndexByte(text, ' ')
	if way, ok := Ran(Folded(text[i+1:]), nil, nil); i > 0 && ok && way != "off" {
		return text[:i], way
	}
	return text, ""
}

// Ran reads the cell of a thruster's own column: " astern" if it ran in reverse, "off" if
// it did not run, "" if it ran forwards. yes and no are further words for running and not
// running. ok is false if the cell says something else.
func Ran(cell string, yes, no []string) (way string, ok bool) {
	switch f := Folded(cell); {
	case OneOf(cell, no) || Is("off", f):
		return "off", true
	case OneOf(cell, yes) || cell == "+1" || Is("forwards", f):
		return "", true
	case cell == "-1" || Is("reversed", f):
		return " astern", true
	}
	return "", false
}

// Drives converts a cell that names thrusters to the form of a log, and lists the words
// it does not understand. find returns the thruster or thrusters of a name, "" for none.
func Drives(cell string, find func(name string) string) (written string, unknown []string) {
	var out []string
	parts := Joined(cell)
	said := 0 // parts that say a direction
	for i, p := range parts {
		p = strings.Join(strings.Fields(p), " ")
		name, way := direction(p)
		if name != p {
			said++
		}
		if i > 0 && i == len(parts)-1 && said == 1 && way != "" && !strings.HasSuffix(p, way) {
			return "", []string{cell} // "L+R rev" is both or the last
		}
		switch to := find(name); {
		case name == "":
		case to == "":
			unknown = append(unknown, name)
		default:
			out = append(out, strings.ReplaceAll(to, " + ", way+" + ")+way)
		}
	}
	return strings.Join(out, " + "), unknown
}

// Guess returns the vehicle's thruster or thrusters that a word most likely names, "" for
// none. Callers show a guess before they use it.
func Guess(word string, known []string) string {
	w := strings.Join(slices.DeleteFunc(Words(word), func(w string) bool { return Is("filler", w) || Is("motor", w) }), " ")
	for list, side := range lists() {
		i := slices.IndexFunc(known, func(k string) bool { return slices.Contains(side, Folded(k)) })
		switch {
		case !strings.HasPrefix(list, "side ") || i < 0 || !slices.Contains(side, w) && !slices.Contains(side, strings.ToLower(word)): // "StB" is no "St" and "B"
		case Is("reversed", w):
			return known[i] + " down"
		default:
			return known[i]
		}
	}
	if Is("both", w) {
		if left, right := Guess("port", known), Guess("starboard", known); left != "" && right != "" {
			return left + " + " + right
		}
	}
	if (Is("both", w) || Is("all", w)) && len(known) == 2 {
		return strings.Join(known, " + ")
	}
	return ""
}

// Thruster returns what a word stands for: a known thruster with the direction it ran
// in, or "off"; "" if neither.
func Thruster(word string, known []string) string {
	if Is("off", Folded(word)) {
		return "off"
	}
	name, way := direction(word)
	if to := Guess(name, known); to != "" {
		return strings.ReplaceAll(to, " + ", way+" + ") + way
	}
	return ""
}
