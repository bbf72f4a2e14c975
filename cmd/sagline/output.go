package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"
	"unicode/utf8"

	"golang.org/x/term"

	"sagline/session/problem"
)

// printed is what a command prints on one of its two outputs. Whatever a file
// says, nothing in it steers a terminal: this is the one place that sees to it.
// It remembers that its writer failed, so that what a full disk cut off is not
// taken for whole.
type printed struct {
	w     io.Writer
	width int    // of the terminal that it is, whose lines are folded at blanks; 0: as they are
	rest  []byte // of a character whose last bytes are still to come
	err   error
}

// newPrinted prints on a stream, in its width where it is a terminal.
func newPrinted(w io.Writer) *printed {
	p := &printed{w: w}
	if f := file(w); f != nil {
		if width, _, err := term.GetSize(int(f.Fd())); err == nil {
			p.width = width
		}
	}
	return p
}

// widthOf is the width of the terminal that a stream is, 0 where it is none.
func widthOf(w io.Writer) int {
	if p, ok := w.(*printed); ok {
		return p.width
	}
	return 0
}

// folded is a text whose lines longer than a width are broken at blanks, what
// follows set in under where the line began. What does not end its line is a question.
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
			if at <= len(indent) { // no blank to break it at
				break
			}
			b.WriteString(strings.TrimRight(string(rest[:at]), " ") + "\n")
			rest = []rune(indent + strings.TrimLeft(string(rest[at:]), " "))
		}
		b.WriteString(string(rest))
	}
	return b.String()
}

// Write passes on what is printed.
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

// end prints what is left of a character that never came whole.
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

// file is the file that a stream is, nil where it is none.
func file(stream any) *os.File {
	switch s := stream.(type) {
	case *os.File:
		return s
	case *printed:
		return file(s.w)
	}
	return nil
}

// terminal says whether a stream is one.
func terminal(stream any) bool {
	f := file(stream)
	return f != nil && term.IsTerminal(int(f.Fd()))
}

// counting tells on a terminal's standard error how many are done of all, each
// time in the place of the last; nil where that is no terminal. A line is all it
// takes: the libraries for it that were tried cost every start of the program
// milliseconds.
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
