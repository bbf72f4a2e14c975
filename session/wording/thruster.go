package wording

import (
	"slices"
	"strings"
	"sync"
)

// joints are how people join names, beside +.
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

// Joins says whether a word stands between two names.
func Joins(word string) bool {
	return Is("joins", strings.ToLower(word)) && !strings.EqualFold(word, "y") // a word for yes too
}

// Joined are the parts of a text that joins several names.
func Joined(text string) []string { return strings.Split(joints().Replace(text), "+") }

// direction parts a thruster's name from the way that it ran: " astern" or "".
func direction(text string) (name, way string) {
	i := strings.LastIndexByte(text, ' ')
	if way, ok := Ran(Folded(text[i+1:]), nil, nil); i > 0 && ok && way != "off" {
		return text[:i], way
	}
	return text, ""
}

// Ran is what a cell says of the thruster that it is of: " astern" where it ran
// in reverse, "off" where it did not run, "" where it did; yes and no are words
// for that too. ok is false where it says something else.
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

// Drives is a cell of thrusters as a log has it, and what it could not make sense
// of; find is the thruster of a name, or those, "" for none.
func Drives(cell string, find func(name string) string) (written string, unknown []string) {
	var out []string
	parts := Joined(cell)
	said := 0 // parts that say which way
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

// Guess is the vehicle's thruster that a word most likely names, or those, "" for
// none. It is to be shown before it is used.
func Guess(word string, known []string) string {
	w := strings.Join(slices.DeleteFunc(Words(word), func(w string) bool { return Is("filler", w) || Is("motor", w) }), " ")
	for list, side := range lists() {
		i := slices.IndexFunc(known, func(k string) bool { return slices.Contains(side, Folded(k)) })
		switch {
		case !strings.HasPrefix(list, "side ") || i < 0 || !slices.Contains(side, w):
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

// Thruster is what a word for one thruster stands for, in any of the ways that
// people write it: a known name with the way it ran, or "off"; "" where it
// stands for none of them.
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
