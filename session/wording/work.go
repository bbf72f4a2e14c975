package wording

import (
	"regexp"
	"slices"
	"strconv"
	"strings"

	"sagline/session"
)

// mass matches a mass with its unit, and the number of pieces before it: 2 x 50 g.
var mass = regexp.MustCompile(`(?i)(?:(\d+)\s*[x×*]\s*)?(\d+(?:[.,]\d+)?)\s*(kg|g|oz|lbs?|gramm?s?|gramos|grammes)\b`)

// And separates the parts of a result of Work; Unweighed ends one that changes ballast by
// an unknown mass.
const (
	And       = ", "
	Unweighed = "ballast_g ?"
)

// hyphens joins terms that Words would split.
var hyphens = strings.NewReplacer("o-ring", "oring", "re-", "re", "joint torique", "torique", "joint d'étanchéité", "étanchéité")

func workWords(text string) []string { return Words(hyphens.Replace(strings.ToLower(text))) }

// Work finds the work that a note reports: "serviced " and parts, "ballast_g " and grams,
// "?" if the note does not say how many, or both joined by And; "" for neither. Plans do
// not count.
func Work(text string) string {
	w := workWords(text)
	parts := partsIn(w)
	if len(w) < 2 || Any("undone", w) {
		return ""
	}
	var out []string
	added, taken := Any("added", w), Any("taken", w)
	if (anyStem("part ballast", w) || slices.Contains(parts, "ballast")) && added != taken {
		parts = slices.DeleteFunc(parts, func(p string) bool { return p == "ballast" })
		out = append(out, "ballast_g "+massIn(text, taken))
	}
	if len(parts) > 0 && anyStem("done", w) {
		out = append([]string{"serviced " + strings.Join(parts, "+")}, out...)
	}
	return strings.Join(out, And)
}

// massIn returns the grams that a text names, negative if they were taken off; "?" if it
// does not name exactly one mass.
func massIn(text string, taken bool) string {
	all := mass.FindAllStringSubmatch(text, 2)
	if len(all) != 1 || strings.ContainsAny(text, "/½¼¾") { // a fraction, or several
		return "?"
	}
	u, _ := FindUnit(all[0][3])
	x, err := strconv.ParseFloat(strings.Replace(all[0][2], ",", ".", 1), 64)
	if n, many := strconv.ParseFloat(all[0][1], 64); many == nil {
		x *= n
	}
	if err != nil || u.Dimension != grams {
		return "?"
	}
	if taken {
		x = -x
	}
	return Short(x * u.Times)
}

// partsIn lists the parts that words name.
func partsIn(w []string) []string {
	return slices.DeleteFunc(slices.Clone(session.Serviceable), func(part string) bool {
		return !slices.ContainsFunc(w, func(word string) bool { return Begins(word, part) }) && !anyStem("part "+part, w)
	})
}

// Ashore reports whether a note says that its line was read out of the water, as in a bench test.
func Ashore(note string) bool {
	said := "_" + strings.Join(workWords(note), "_") + "_"
	return slices.ContainsFunc(lists()["ashore"], func(phrase string) bool {
		before, _, found := strings.Cut(said, "_"+phrase+"_")
		return found && !Is("not", before[strings.LastIndexByte(before, '_')+1:])
	})
}

// Services lists the parts that a note says were worked on, joined by +; "" for none.
func Services(note string) string {
	done, ok := strings.CutPrefix(Work(note), "serviced ")
	if done, _, _ = strings.Cut(done, And); !ok {
		return ""
	}
	return done
}

// Parts lists the parts, joined by +, that a text says were worked on, or that it names
// without any other word; all says the latter.
func Parts(text string) (parts string, all bool) {
	w := workWords(text)
	found := partsIn(w)
	if Any("undone", w) || !anyStem("done", w) && len(found) != len(w) {
		found = nil
	}
	return strings.Join(found, "+"), len(w) > 0 && len(found) == len(w)
}
