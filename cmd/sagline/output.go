package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"unicode/utf8"

	"golang.org/x/term"

	"sagline/session/problem"
)

// printed is what a command prints on one of its two outputs. Whatever a file
// says, nothing in it steers a terminal: this is the one place that sees to it.
// It remembers that its writer failed, so that what a full disk cut off is not
// taken for whole.
type printed struct {
	w    io.Writer
	rest []byte // of a character whose last bytes are still to come
	err  error
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
	_, err := io.WriteString(p.w, problem.Clean(string(text)))
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
