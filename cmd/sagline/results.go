package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
)

// results remembers that its writer failed, so that what a full disk cut off is
// not taken for whole.
type results struct {
	w   io.Writer
	err error
}

// or is r, but a terminal as it is: prompts ask that for its size, and it does
// not fill up.
func (r *results) or(out io.Writer) io.Writer {
	if terminal(out) {
		return out
	}
	return r
}

// Write passes on what is printed.
func (r *results) Write(p []byte) (int, error) {
	n, err := r.w.Write(p)
	if err != nil && r.err == nil {
		var pe *fs.PathError
		if errors.As(err, &pe) {
			err = pe.Err
		}
		r.err = fmt.Errorf("the results cannot be written: %w", err)
	}
	return n, err
}
