package spreadsheet

import (
	"slices"
	"strings"
	"unicode"

	"sagline/session"
	"sagline/session/wording"
)

// mostFields bounds the words of a line that names a dive and its day: common practice,
// no source.
const mostFields = 10

// NamedIn finds the dive and the day, as written, that a line above a dive names; "" for
// none. A day without its year counts only next to a dive, since it could be any number.
func NamedIn(text string) (dive, day string) {
	fields := strings.Fields(text[:min(len(text), LongestHeading)])
	if !strings.ContainsAny(text, "0123456789") || len(fields) > mostFields {
		return "", ""
	}
	short := ""
	for i, f := range fields {
		for n := range min(3, len(fields)-i) {
			written := strings.Trim(strings.Join(fields[i:i+n+1], " "), "(),:;–-")
			if day == "" && isDate(written, 0) {
				day = written
			}
			if short == "" && isDate(written, wording.AnyYear) && (strings.Count(written, ".") == 2 || strings.ContainsFunc(written, unicode.IsLower)) {
				short = written
			}
		}
		h := ReadHeading(f)
		if best := Candidates(h, h.Whole); i+1 < len(fields) && dive == "" && len(best) == 1 && best[0].Column.Name == "dive" {
			if label := strings.Trim(fields[i+1], "(),:;.–-#"); session.DigitsOnly(label) {
				dive = label
			}
		}
	}
	if dive != "" && day == "" {
		day = short
	}
	return dive, day
}

// namesDive reports whether a text names a dive, or a day among other words.
func namesDive(text string) bool {
	dive, day := NamedIn(text)
	return dive != "" || day != "" && day != text
}

func isDate(text string, year int) bool {
	return slices.ContainsFunc(wording.DateForms, func(form string) bool { _, err := wording.ReadDate(text, form, year); return err == nil })
}

// Every reports whether there are cells, and is holds for each.
func Every(cells []string, is func(string) bool) bool {
	return len(cells) > 0 && !slices.ContainsFunc(cells, func(c string) bool { return !is(c) })
}
