package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"

	"github.com/spf13/cobra"

	"sagline/predict/findings"
)

// logbookTrend is one line of trend --json when several logbooks are named.
type logbookTrend struct {
	Logbook string `json:"logbook"`
	*findings.Report
}

// rendered is what trend says of one of several logbooks.
type rendered struct {
	text    []byte
	alarmed bool
	err     error
}

// trendAll says of several logbooks, side by side on all cores, what trend
// says of one: a block each, or a line each of JSON. A logbook with a problem
// is told and the others go on; the error at the end counts them.
func trendAll(cmd *cobra.Command, dirs []string, asJSON, strict bool) error {
	if _, err := unitsAsked(cmd); err != nil {
		return err
	}
	tell := counting(cmd.ErrOrStderr(), "logbooks")
	if terminal(cmd.OutOrStdout()) {
		tell = nil // what is printed there says how far it is
	}
	var bad []error
	done, alarmed := 0, false
	err := parallel(len(dirs), func(i int) rendered { return renderTrend(cmd, dirs[i], asJSON) }, func(r rendered) error {
		alarmed = alarmed || r.alarmed
		if r.err != nil {
			bad = append(bad, r.err)
		}
		if done++; tell != nil {
			tell(done, len(dirs))
		}
		_, err := cmd.OutOrStdout().Write(r.text)
		return err
	})
	switch {
	case err != nil:
		return err
	case bad != nil:
		return fmt.Errorf("%w\n%d of %d logbooks have problems, told above", errors.Join(bad...), len(bad), len(dirs))
	case strict && alarmed:
		return errAlarmed
	}
	return nil
}

func renderTrend(cmd *cobra.Command, dir string, asJSON bool) (out rendered) {
	_, rep, _, err := analyse(cmd, dir)
	if err != nil {
		return rendered{err: err}
	}
	var b bytes.Buffer
	if out.alarmed = len(rep.Findings) > 0; asJSON {
		e := json.NewEncoder(&b)
		e.SetEscapeHTML(false)
		out.err = e.Encode(logbookTrend{dir, rep})
	} else {
		fmt.Fprintf(&b, "%s\n", dir)
		printTrend(&b, rep, dir)
		fmt.Fprintln(&b)
	}
	out.text = b.Bytes()
	return out
}

// named are the folders that arguments name: a pattern that the shell has
// left alone, as on Windows, stands for what it matches.
func named(args []string) []string {
	var out []string
	for _, a := range args {
		found, _ := filepath.Glob(a)
		if _, err := os.Stat(a); err == nil || found == nil {
			found = []string{a} // told when it is opened, where there is none
		}
		out = append(out, found...)
	}
	return out
}

// parallel does n tasks side by side on all cores and hands the results on in
// order. No more than one a core and one besides are begun and not yet handed
// on, so that memory does not grow with n. It ends at emit's first error.
func parallel[T any](n int, do func(i int) T, emit func(T) error) error {
	ahead := runtime.GOMAXPROCS(0) + 1
	slots := make([]chan T, ahead)
	begin := func(i int) {
		if i < n {
			go func() { slots[i%ahead] <- do(i) }()
		}
	}
	for i := range slots {
		slots[i] = make(chan T, 1) // a task left alone at an error ends too
		begin(i)
	}
	for i := range n {
		if err := emit(<-slots[i%ahead]); err != nil {
			return err
		}
		begin(i + ahead)
	}
	return nil
}
