package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"sagline/predict/drift"
	"sagline/predict/findings"
)

func newFit() *cobra.Command {
	c := &cobra.Command{
		Use: "fit [LOGBOOK] [DIVE]", Short: "Which losses explain a dive's readings",
		Example: "  $ sagline fit examples/joint 22", Args: upTo(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			r, which, err := fitAndPick(cmd, args)
			if err != nil {
				return err
			}
			rep := drift.PerDive(r)
			return show(cmd, map[string]any{"schema": 1, "vehicle": rep.Vehicle, "dives": rep.Dives}, func(w io.Writer) {
				if which < 0 {
					noDives(w, rep.Vehicle, folder(args))
				} else {
					printDive(w, rep, which, which < r.Baseline, r.Builds(which))
				}
			})
		},
	}
	c.Flags().Bool("json", false, "print all dives' estimates as JSON")
	return c
}

func printDive(w io.Writer, rep *findings.Report, which int, baseline bool, builds []string) {
	d := rep.Dives[which]
	fmt.Fprintf(w, "%s, dive %s%s, from its own lines and the calibration\n", rep.Vehicle, d.Dive, findings.Of(d.Date))
	printBuilds(w, builds)
	switch {
	case !rep.Judged:
		fmt.Fprintf(w, "\n%s\n", rep.Verdict())
	case baseline:
		fmt.Fprint(w, "\nthis dive is part of the baseline: its drift is against the baseline's own mean\n")
	}
	if len(d.Estimates) > 0 {
		fmt.Fprintln(w)
		table(w, func(w io.Writer) {
			fmt.Fprintln(w, "quantity\tvalue (95 %)\tfrom\tto")
			for _, t := range rep.Trends {
				unit := rep.Unit(t.Quantity)
				e := d.Estimates[t.Quantity].In(unit)
				half := (e.High - e.Low) / 2
				fmt.Fprintf(w, "%s\t%s %s\t%s\t%s\n", t.Cause.Words, findings.Rounded(e.Value, half), unit.Name, findings.Rounded(e.Low, half), findings.Rounded(e.High, half))
			}
		})
	}
	if jammed := d.LooksJammed(); jammed != "" {
		fmt.Fprintf(w, "\nnote: %s; the table takes the likeliest for jammed", jammed)
	}
	for _, s := range d.SetAside {
		fmt.Fprintf(w, "\nline %d, %s", s.Line, s.Words())
	}
	for _, r := range rep.Remarks {
		fmt.Fprintf(w, "\nnote: %s", r)
	}
	fmt.Fprintln(w, "\nnext: sagline trend, to see whether this is drift or scatter")
}
