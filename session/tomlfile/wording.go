package tomlfile

import (
	"bytes"
	"errors"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2"

	"sagline/session/problem"
)

// notText finds the line, from 1, of the first byte that is not UTF-8 text.
func notText(file []byte) (line int, ok bool) {
	for i := 0; i < len(file); {
		r, n := utf8.DecodeRune(file[i:])
		if r == 0 || r == utf8.RuneError && n == 1 {
			return 1 + bytes.Count(file[:i], []byte{'\n'}), true
		}
		i += n
	}
	return 0, false
}

// lineOf returns the n-th line of a text, from 1, trimmed; "" if there is none.
func lineOf(text []byte, n int) string {
	lines := bytes.SplitN(text, []byte{'\n'}, n+1)
	if n < 1 || n > len(lines) {
		return ""
	}
	return strings.TrimSpace(string(lines[n-1]))
}

// slips are common errors in TOML, by the shape of a line, and what is wanted instead.
var slips = []struct{ shape, want string }{
	{`^\[`, "a [table] or [[list]] alone on its line"},
	{`^[^=]*$`, "key = value"},
	{`^=`, "a key before the ="},
	{`=\s*(#.*)?$`, "a value after the ="},
	{`=\s*[-+]?\d+,\d+\s*(#.*)?$`, "a decimal point, not a comma"},
	{`=\s*[-+]?\d[\d.]*\s*[\pL°%µ²³/]+\s*(#.*)?$`, "the number alone: the unit is in the key's name"},
	{`=\s*[-+]?0\d`, "a number without zeros before it"},
	{`=\s*("[^"]*|'[^']*)$`, "the text's quote closed on its line"},
	{`=\s*"[^"]*\\`, `a \ in a text doubled, or the text in ' '`},
	{`=\s*[“”„«‘’‚»]`, `plain quotes, "…"`}, // a word processor's
	{`=\s*\pL`, "a text in quotes, a number, true or false"},
}

// syntaxProblem words an error of the TOML library, with its line.
func syntaxProblem(err error, text []byte, name string) error {
	var decode *toml.DecodeError
	if !errors.As(err, &decode) {
		return &problem.Problem{File: name, Text: strings.TrimPrefix(err.Error(), "toml: ")}
	}
	line, _ := decode.Position()
	return &problem.Problem{File: name, Line: line, Column: Spelt(decode.Key()),
		Text: unreadable(lineOf(text, line), strings.TrimPrefix(decode.Error(), "toml: "))}
}

// unreadable words what is wrong with a line that the TOML library cannot read; why is
// the library's message, used if the line is none of slips.
func unreadable(line, why string) string {
	found := "found " + problem.Quote(line)
	switch {
	case strings.Contains(why, "already") || strings.Contains(why, "should be a table"):
		return found + ", want it once: " + why
	case strings.Contains(why, "too large") || strings.Contains(why, "out of range"):
		return found + ", want a number nearer to 0"
	case strings.Contains(why, "carriage return"):
		return "found a carriage return that ends no line, want lines that end in LF or CR LF"
	case strings.Contains(why, "control char"):
		return found + ", want a text without control characters"
	}
	for _, s := range slips {
		if ok, _ := regexp.MatchString(s.shape, line); ok { // compiled here: at most one line of a file gets here
			return found + ", want " + s.want
		}
	}
	return found + ": " + why
}

// Spelt joins the parts of a key; parts that are not plain words are quoted.
func Spelt(key []string) string {
	if len(key) > 2*deepest {
		key = append(slices.Clone(key[:deepest]), "…")
	}
	out := make([]string, len(key))
	for i, k := range key {
		if out[i] = k; len(k) > 40 || !plain(k) && k != "…" {
			out[i] = problem.Quote(k)
		}
	}
	return strings.Join(out, ".")
}

// plain reports whether a TOML key needs no quotes.
func plain(key string) bool {
	return key != "" && !strings.ContainsFunc(key, func(r rune) bool {
		return r != '_' && r != '-' && (r > unicode.MaxASCII || !unicode.IsLetter(r) && !unicode.IsDigit(r))
	})
}
