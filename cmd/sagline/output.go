package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strconv"
	"strings"
	"unicode/utf8"

	"golang.org/x/term"

	"sagline/session/problem"
)

// printed is one of a command's two outputs. It is the only place that removes control sequences, so
// that no file's text can control a terminal. It keeps the first error of its writer, so that output
// cut off by a full disk is noticed.
type printed struct {
	w     io.Writer
	width int    // of the terminal, at which lines are wrapped; 0: not wrapped
	rest  []byte // bytes of a last character that is not complete yet
	err   error
}

// newPrinted returns an output on a stream, wrapped to the width of a terminal.
func newPrinted(w io.Writer) *printed {
	p := &printed{w: w}
	if f := file(w); f != nil {
		if width, _, err := term.GetSize(int(f.Fd())); err == nil {
			p.width = width
		}
	}
	return p
}

// widthOf returns the width of a terminal, 0 for another stream.
func widthOf(w io.Writer) int {
	if p, ok := w.(*printed); ok {
		return p.width
	}
	return 0
}

// folded wraps lines longer than width at blanks and keeps their indent. A last line without a line
// break is a question and is not wrapped.
func folded(text string, width int) string {
	var b strings.Builder
	for line := range strings.Lines(text) {
		indent := strings.Repeat(" ", len(line)-len(strings.TrimLeft(line, " "))+2)
		rest := []rune(line)
		for len(rest) > width+1 && rest[len(rest)-1] == '\n' {
			at := width
			for at > len(indent) && rest[at] != ' ' {
				at--
			}
			if at <= len(indent) { // no blank to wrap at
				break
			}
			b.WriteString(strings.TrimRight(string(rest[:at]), " ") + "\n")
			rest = []rune(indent + strings.TrimLeft(string(rest[at:]), " "))
		}
		b.WriteString(string(rest))
	}
	return b.String()
}

// Write implements io.Writer.
func (p *printed) Write(text []byte) (int, error) {
	all := append(p.rest, text...)
	whole := len(all)
	for k := 1; k < utf8.UTFMax && k <= len(all); k++ {
		if utf8.RuneStart(all[len(all)-k]) {
			if !utf8.FullRune(all[len(all)-k:]) {
				whole = len(all) - k
			}
			break
		}
	}
	p.rest = append([]byte{}, all[whole:]...)
	return len(text), p.pass(all[:whole])
}

// end prints the bytes of an incomplete character.
func (p *printed) end() { _ = p.pass(p.rest) }

func (p *printed) pass(text []byte) error {
	clean := problem.Clean(string(text))
	if p.width > 0 {
		clean = folded(clean, p.width)
	}
	_, err := io.WriteString(p.w, clean)
	if err != nil && p.err == nil {
		var pe *fs.PathError
		if errors.As(err, &pe) {
			err = pe.Err
		}
		p.err = fmt.Errorf("the results cannot be written: %w", err)
	}
	return err
}

// file returns a stream's file, nil if the stream is not a file.
func file(stream any) *os.File {
	switch s := stream.(type) {
	case *os.File:
		return s
	case *printed:
		return file(s.w)
	}
	return nil
}

// terminal reports whether a stream is a terminal.
func terminal(stream any) bool {
	f := file(stream)
	return f != nil && term.IsTerminal(int(f.Fd()))
}

// counting returns a function that shows, in one line of a terminal, how many of all are done; nil if
// w is not a terminal. Libraries for progress that were tried add milliseconds to every start of the
// program.
func counting(w io.Writer, what string) func(done, all int) {
	if !terminal(w) {
		return nil
	}
	const clearLine = "\r\033[K"
	return func(done, all int) {
		fmt.Fprintf(file(w), clearLine+"%d of %d %s", done, all, what)
		if done == all {
			fmt.Fprint(file(w), clearLine)
		}
	}
}

// shellWord returns a word as a person types it on a command line: in quotes if it has blanks or
// characters that a shell interprets.
func shellWord(s string) string {
	switch {
	case s != "" && strings.Map(plainRune, s) == s && !strings.ContainsAny(s, " =%"):
		return s
	case !strings.ContainsAny(s, "\"$`"):
		return `"` + s + `"` // within quotes a shell changes no other characters; backslashes in Windows' paths must stay
	}
	return strconv.Quote(s)
}

// printEach prints texts, one a line, each after a word.
func printEach(w io.Writer, word string, texts []string) {
	for _, text := range texts {
		fmt.Fprintf(w, "%s %s\n", word, text)
	}
}
