package main

import (
	"fmt"
	"io"
)

// progress counts on a terminal's standard error; nil, it is silent. A line
// is all it takes: the libraries for it that were tried cost every start of
// the program milliseconds.
type progress struct {
	w         io.Writer
	done, all int
	what      string
}

// newProgress is nil unless w is a terminal.
func newProgress(w io.Writer, all int, what string) *progress {
	if !terminal(w) {
		return nil
	}
	return &progress{w: file(w), all: all, what: what}
}

// step counts one more; what write writes to the same terminal stands above
// the count.
func (p *progress) step(write func() error) error {
	if p == nil {
		return write()
	}
	fmt.Fprint(p.w, clearLine)
	err := write()
	p.set(p.done + 1)
	return err
}

// set says how many are done.
func (p *progress) set(done int) {
	if p == nil {
		return
	}
	p.done = done
	fmt.Fprintf(p.w, clearLine+"%d of %d %s", done, p.all, p.what)
	if done == p.all {
		fmt.Fprint(p.w, clearLine)
	}
}

const clearLine = "\r\033[K"

// counting is a progress as those who do the work call it: each time with how
// many are done of all. It is nil where there is no terminal.
func counting(w io.Writer, what string) func(done, all int) {
	if newProgress(w, 0, what) == nil {
		return nil
	}
	var p *progress
	return func(done, all int) {
		if p == nil {
			p = newProgress(w, all, what)
		}
		p.set(done)
	}
}
