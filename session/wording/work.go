package wording

import (
	"regexp"
	"slices"
	"strconv"
	"strings"

	"sagline/session"
)

// mass is a number of grams, or of times so many.
var mass = regexp.MustCompile(`(?i)(?:(\d+)\s*[x×*]\s*)?(\d+(?:[.,]\d+)?)\s*(kg|g|oz|lbs?|gramm?s?|gramos|grammes)\b`)

// And parts what one note says was done, and Unweighed ends what it says of
// ballast without its grams.
const (
	And       = ", "
	Unweighed = "ballast_g ?"
)

// hyphens make one word of what is written as two.
var hyphens = strings.NewReplacer("o-ring", "oring", "re-", "re", "joint torique", "torique", "joint d'étanchéité", "étanchéité")

func workWords(text string) []string { return Words(hyphens.Replace(strings.ToLower(text))) }

// Work is what a note says was done: "serviced " and parts, or "ballast_g " and
// grams, "?" where it does not say how many, both joined by And; "" for neither.
// Plans are not done.
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

// massIn is the grams that a text names, negative where they were taken off.
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

// partsIn are the parts that words name.
func partsIn(w []string) []string {
	return slices.DeleteFunc(slices.Clone(session.Serviceable), func(part string) bool {
		return !slices.ContainsFunc(w, func(word string) bool { return Begins(word, part) }) && !anyStem("part "+part, w)
	})
}

// Services are what a note says was worked on, joined by +; "" where it says
// nothing of that.
func Services(note string) string {
	done, ok := strings.CutPrefix(Work(note), "serviced ")
	if done, _, _ = strings.Cut(done, And); !ok {
		return ""
	}
	return done
}

// Parts are the parts that were worked on by a text that is of nothing else,
// joined by +; all says that it says no more.
func Parts(text string) (parts string, all bool) {
	w := workWords(text)
	found := partsIn(w)
	if Any("undone", w) || !anyStem("done", w) && len(found) != len(w) {
		found = nil
	}
	return strings.Join(found, "+"), len(w) > 0 && len(found) == len(w)
}
