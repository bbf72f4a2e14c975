package shorthand

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
	"unicode/utf8"

	"sagline/session/problem"
	"sagline/session/wording"
)

// drives converts unambiguous short forms of thrusters' names, as "ps", "l + r" or
// "PORT+s astern", into a cell.
func (r *Reader) drives(text string) (string, error) {
	ways := map[string]string{}
	for word := range strings.SplitSeq(text, "+") {
		word = strings.Join(strings.Fields(word), " ")
		list := r.named(word)
		if parts := wording.Joined(word); len(list) == 0 && len(parts) > 1 {
			for _, p := range parts {
				one := r.named(strings.TrimSpace(p))
				if list = append(list, one...); len(one) == 0 {
					return "", r.unknown(word)
				}
			}
		}
		if len(list) == 0 {
			return "", r.unknown(word)
		}
		for _, drive := range list {
			name, _ := r.cut(drive)
			if _, twice := ways[name]; twice || drive == "off" && text != word {
				return "", fmt.Errorf("found %s, want off alone or each thruster once", problem.Quote(text))
			}
			ways[name] = drive
		}
	}
	return r.joinDrives(ways), nil
}

// joinDrives joins thrusters in the vehicle's order; those that it does not have come last.
func (r *Reader) joinDrives(ways map[string]string) string {
	var out []string
	for _, name := range append([]string{"off"}, r.Thrusters...) {
		if drive, ok := ways[name]; ok {
			out = append(out, drive)
			delete(ways, name)
		}
	}
	return strings.Join(append(out, slices.Sorted(maps.Values(ways))...), " + ")
}

// named lists the thrusters that a word stands for, each with its direction; none if it
// stands for nothing or is ambiguous.
func (r *Reader) named(word string) []string {
	if strings.EqualFold(word, "off") || word == "" {
		return strings.Fields(strings.ToLower(word))
	}
	name, way := r.cut(word)
	for _, one := range []func(string) string{func(n string) string { k, _ := r.exactly(n); return k }, r.begunBy, r.spelt} {
		if k := one(name); k != "" {
			return []string{k + way}
		}
	}
	if to := wording.Thruster(word, r.Thrusters); to != "" {
		return strings.Split(to, " + ")
	}
	if len(r.Thrusters) == 0 {
		return []string{word}
	}
	all := r.initials(name)
	if one := r.firstLetters(name); one != "" {
		if len(all) > 0 {
			return nil
		}
		all = []string{one}
	}
	if len(all) == 0 {
		all = r.bySide(name, &way)
	}
	for i := range all {
		all[i] += way
	}
	return all
}

// bySide lists the thrusters at the place that a word names, and sets way if the word
// says a direction. A single letter names no place, since it may abbreviate a name.
func (r *Reader) bySide(word string, way *string) []string {
	if utf8.RuneCountInString(word) < 2 {
		return nil
	}
	if both := r.Sides["both"]; both != "" && wording.Is("both", wording.Folded(word)) {
		return strings.Split(both, " + ")
	}
	side, says, _ := strings.Cut(wording.Thruster(word, []string{"port", "starboard", "vertical"}), " ")
	if r.Sides[side] == "" || strings.Contains(says, "+") {
		return nil
	}
	if says != "" {
		*way = " " + says
	}
	return []string{r.Sides[side]}
}

// cut splits a thruster's name from its direction.
func (r *Reader) cut(word string) (name, way string) {
	i := strings.LastIndexByte(word, ' ')
	if i <= 0 || slices.Contains(r.Thrusters, word) {
		return word, ""
	}
	switch way = strings.ToLower(word[i+1:]); way {
	case "astern", "down":
		return word[:i], " " + way
	}
	return word, ""
}

// begunBy returns the only thruster whose name begins with text, blanks ignored.
func (r *Reader) begunBy(text string) string {
	return only(r.Thrusters, func(k string) bool { return strings.HasPrefix(folded(k), folded(text)) })
}

func folded(s string) string { return strings.ToLower(strings.Join(strings.Fields(s), "")) }

// initials lists the thrusters that the letters of text abbreviate, none unless each
// letter stands for another one.
func (r *Reader) initials(text string) []string {
	var out []string
	for _, letter := range text {
		one := cmp.Or(r.begunBy(string(letter)), wording.Thruster(string(letter), r.Thrusters))
		if one == "" || slices.Contains(out, one) {
			return nil
		}
		out = append(out, one)
	}
	return out
}

// firstLetters returns the only thruster whose name's words begin with the letters of
// text, as fl for front left.
func (r *Reader) firstLetters(text string) string {
	return only(r.Thrusters, func(k string) bool {
		letters, words := "", wording.Words(k)
		for _, w := range words {
			first, _ := utf8.DecodeRuneInString(w)
			letters += string(first)
		}
		return len(words) > 1 && strings.EqualFold(letters, text)
	})
}

// unknown returns the error of a word that should name a thruster.
func (r *Reader) unknown(word string) error {
	several := ""
	for _, k := range r.Thrusters {
		if utf8.RuneCountInString(word) > 0 && strings.HasPrefix(folded(k), folded(word)) {
			several = ", which begins more than one"
		}
	}
	return fmt.Errorf("found %s%s, want %s or off%s", problem.Quote(word), several, strings.Join(r.Thrusters, ", "), nearest(word, slices.Clone(r.Thrusters)))
}
