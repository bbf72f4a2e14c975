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

// logbookTrend is a line of trend --json for one of several logbooks.
type logbookTrend struct {
	Logbook string `json:"logbook"`
	*findings.Report
}

// rendered is what trend prints for one of several logbooks.
type rendered struct {
	text    []byte
	alarmed bool
	err     error
}

// trendAll analyses several logbooks in parallel and prints for each what trend prints for one, as a
// block or a line of JSON. It continues after a logbook with problems; the error has all problems
// and counts the logbooks that have some.
func trendAll(cmd *cobra.Command, dirs []string, asJSON, strict bool) error {
	if _, err := unitsAsked(cmd); err != nil {
		return err
	}
	progress := counting(cmd.ErrOrStderr(), "logbooks")
	if terminal(cmd.OutOrStdout()) {
		progress = nil // the results printed there show the progress
	}
	var bad []error
	done, alarmed := 0, false
	err := parallel(len(dirs), func(i int) rendered { return renderTrend(cmd, dirs[i], asJSON) }, func(r rendered) error {
		alarmed = alarmed || r.alarmed
		if r.err != nil {
			bad = append(bad, r.err)
		}
		if done++; progress != nil {
			progress(done, len(dirs))
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
	if out.alarmed = rep.Alarming(); asJSON {
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

// named returns the folders that arguments name. It expands patterns, since on Windows the shell
// does not.
func named(args []string) []string {
	var out []string
	for _, a := range args {
		found, _ := filepath.Glob(a)
		if _, err := os.Stat(a); err == nil || found == nil {
			found = []string{a} // opening it reports that it is missing
		}
		out = append(out, found...)
	}
	return out
}

// parallel runs n tasks on all cores and passes their results to emit in order. At most GOMAXPROCS+1
// tasks are begun and not yet emitted, so that memory does not grow with n. It returns emit's first
// error.
func parallel[T any](n int, do func(i int) T, emit func(T) error) error {
	ahead := runtime.GOMAXPROCS(0) + 1
	slots := make([]chan T, ahead)
	begin := func(i int) {
		if i < n {
			go func() { slots[i%ahead] <- do(i) }()
		}
	}
	for i := range slots {
		slots[i] = make(chan T, 1) // buffered, so that tasks also end after an error
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
