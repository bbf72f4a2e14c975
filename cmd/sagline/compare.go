package main

import (
	"fmt"
	"io"
	"math"
	"slices"

	"github.com/spf13/cobra"

	"sagline/plotting"
	"sagline/predict/drift"
	"sagline/predict/findings"
	"sagline/predict/fit"
)

// comparedLine is one cell and its prediction, in the unit in which it was written.
type comparedLine struct {
	Dive      string  `json:"dive"`
	Line      int     `json:"line"`
	Column    string  `json:"column"`
	Measured  float64 `json:"measured"`
	Predicted float64 `json:"predicted"` // 0 for a timed run that would never end
	SD        float64 `json:"sd"`
	Z         float64 `json:"z"`
	SetAside  bool    `json:"set_aside,omitempty"`
}

func newCompare() *cobra.Command {
	c := &cobra.Command{
		Use: "compare [LOGBOOK] [DIVE]", Short: "Measured against what a sound vehicle would have read",
		Example: "  $ sagline compare examples/joint 22", Args: upTo(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			r, which, err := fitAndPick(cmd, args)
			if err != nil {
				return err
			}
			if wantsJSON(cmd) && len(args) < 2 {
				which = -1
			}
			lines, sound := []comparedLine{}, r.NewComparison(drift.Levels(r)...)
			for d := range r.Dives {
				if which >= 0 && d != which {
					continue
				}
				for _, c := range sound.Dive(d) {
					entered, want, sd := c.AsWritten()
					column := c.Line.Readings[c.Quantity].Column.Name
					lines = append(lines, comparedLine{r.Dives[d].Log.Label, c.Line.Number, column, entered, want, sd, c.ZAsWritten(), c.Outlier})
				}
			}
			return show(cmd, map[string]any{"schema": 1, "vehicle": r.Model.Vehicle.Name, "lines": lines}, func(w io.Writer) {
				printCompared(w, r, folder(args), which, lines)
			})
		},
	}
	c.Flags().Bool("json", false, "print the results as JSON (all dives unless one is named)")
	return c
}

// diveAt finds a dive by its label.
func diveAt(r *fit.Result, label string) (int, error) {
	labels := make([]string, len(r.Dives))
	for i := range r.Dives {
		labels[i] = r.Dives[i].Log.Label
	}
	if i := slices.Index(labels, label); i >= 0 {
		return i, nil
	}
	return 0, noDive(labels, label)
}

// noDive returns the error for a label that no dive of the log has.
func noDive(labels []string, label string) error {
	has := ", which has none yet"
	if n := len(labels); n > 0 {
		has = fmt.Sprintf("; the newest is %q", labels[n-1])
	}
	return useError{fmt.Errorf("no dive %q in the log%s", label, has)}
}

func printCompared(w io.Writer, r *fit.Result, dir string, d int, lines []comparedLine) {
	if d < 0 {
		noDives(w, r.Model.Vehicle.Name, dir)
		return
	}
	fmt.Fprintf(w, "%s, dive %s against its baseline\n", r.Model.Vehicle.Name, r.Dives[d].Log)
	from := "a sound vehicle's"
	if d < r.Baseline {
		from = "the baseline's own fit"
		fmt.Fprintln(w, "\nthis dive is part of the baseline, which is fitted to it: that they agree does not say that it is sound")
	}
	fmt.Fprintln(w)
	far := 0
	tableOf(w, 2, func(w io.Writer) {
		fmt.Fprintln(w, "line\tcolumn\tmeasured\texpected\tapart, by scatter\t")
		for _, l := range lines {
			word := plotting.Verdict(l.SetAside, l.Z)
			if word != "" && !l.SetAside {
				far++
			}
			fmt.Fprintf(w, "%d\t%s\t%g\t%s\t%+.1f\t%s\n", l.Line, l.Column, l.Measured, findings.Rounded(l.Predicted, 2*l.SD), math.Round(10*l.Z)/10+0, word) // no −0.0
		}
	})
	fmt.Fprintf(w, "\n%d of %d readings lie more than %g times their usual scatter from %s; next: sagline fit %s %s\n", far, len(lines), plotting.FarSD, from, shellWord(dir), shellWord(r.Dives[d].Log.Label))
}
