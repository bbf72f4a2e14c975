package main

import (
	"io"
	"os"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"
)

// progress counts on a terminal's standard error; nil, it is silent.
type progress struct{ bar *progressbar.ProgressBar }

// newProgress is nil unless w is a terminal.
func newProgress(w io.Writer, all int, what string) *progress {
	f, ok := w.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return nil
	}
	return &progress{progressbar.NewOptions(all, progressbar.OptionSetWriter(f), progressbar.OptionSetDescription(what),
		progressbar.OptionShowCount(), progressbar.OptionClearOnFinish(), progressbar.OptionSetPredictTime(true))}
}

// step counts one more; what write writes to the same terminal stands above
// the count.
func (p *progress) step(write func() error) error {
	if p == nil {
		return write()
	}
	_ = p.bar.Clear() // what a terminal cannot show is no reason to stop
	err := write()
	_ = p.bar.Add(1)
	return err
}

// set says how many are done.
func (p *progress) set(done int) {
	if p != nil {
		_ = p.bar.Set(done)
	}
}

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
