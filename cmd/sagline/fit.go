package main

import (
	"fmt"
	"io"
	"math"
	"slices"

	"github.com/spf13/cobra"

	"sagline/predict"
	"sagline/predict/drift"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/forecast"
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
			rep := drift.Analyse(r)
			dives := rep.Dives
			if len(args) == 2 {
				dives = dives[which : which+1]
			}
			return show(cmd, map[string]any{"schema": 1, "vehicle": rep.Vehicle, "dives": dives}, func(w io.Writer) {
				if which < 0 {
					noDives(w, rep.Vehicle, folder(args))
				} else {
					printDive(w, rep, which, which < r.Baseline, r.Builds(which), hardlyTold(r, rep, which))
					for _, text := range drift.Remarks(r) {
						fmt.Fprintf(w, "\nnote: %s", text)
					}
					fmt.Fprintf(w, "\nnext: sagline trend %s, to see whether this is drift or scatter\n", shellWord(folder(args)))
				}
			})
		},
	}
	c.Flags().Bool("json", false, "print the results as JSON (all dives unless one is named)")
	return c
}

// hardlyTold returns the words of the quantities that a dive's readings leave open as far as their
// limits.
func hardlyTold(r *fit.Result, rep *findings.Report, dive int) (out []string) {
	if len(rep.Dives[dive].Estimates) == 0 {
		return nil
	}
	for _, t := range rep.Trends {
		k := t.Cause.Param()
		if k == predict.LogInsulation || t.Cause.Limit == nil {
			continue
		}
		sound := 0.0
		if t.Cause.Scale.Absolute {
			sound = r.SoundOf(k)
		}
		way := math.Abs(t.Cause.Scale.Amplitude(t.Cause.Limit(&r.Model.Vehicle.Limits), sound))
		if forecast.LeftOpen(r, dive, k) > way {
			out = append(out, t.Cause.Words)
		}
	}
	return out
}

func printDive(w io.Writer, rep *findings.Report, which int, baseline bool, builds, hardly []string) {
	d := rep.Dives[which]
	fmt.Fprintf(w, "%s, dive %s%s, from its own lines, beside what all dives tell of the vehicle\n", rep.Vehicle, d.Dive, findings.Of(d.Date))
	printEach(w, "rebuilt", builds)
	switch {
	case !rep.Judged:
		fmt.Fprintf(w, "\n%s\n", rep.Verdict())
		if len(d.Estimates) > 0 {
			fmt.Fprint(w, "what follows is how far this dive lies from these dives' mean, whatever that is\n")
		}
	case baseline:
		fmt.Fprint(w, "\nthis dive is part of the baseline: its drift is against the baseline's own mean\n")
	}
	if len(d.Estimates) > 0 {
		fmt.Fprintln(w)
		table(w, func(w io.Writer) {
			fmt.Fprintln(w, "quantity\tvalue (95 %)\tfrom\tto")
			for _, t := range rep.Trends {
				if t.Cause.Mends != "" { // it is in the quantity that was mended
					continue
				}
				// the range rests on what other dives say, and would seem to be this dive's own
				if slices.Contains(hardly, t.Cause.Words) {
					fmt.Fprintf(w, "%s\tcannot tell\t-\t-\n", t.Cause.Words)
					continue
				}
				unit := rep.Unit(t.Quantity)
				e, read := d.Estimates[t.Quantity]
				if !read {
					fmt.Fprintf(w, "%s\tnot read\t-\t-\n", t.Cause.Words)
					continue
				}
				e = e.In(unit)
				half := (e.High - e.Low) / 2
				fmt.Fprintf(w, "%s\t%s %s\t%s\t%s\n", t.Cause.Words, findings.Rounded(e.Value, half), unit.Name, findings.Rounded(e.Low, half), findings.Rounded(e.High, half))
			}
		})
	}
	if len(hardly) > 0 {
		fmt.Fprint(w, "\nnote: cannot tell: this dive alone would not show it even at its limit; sagline trend goes by all dives")
	}
	if failed := d.LooksFailed(); failed != "" {
		fmt.Fprintf(w, "\nnote: %s; the table goes by the likeliest", failed)
	}
	for _, s := range d.SetAside {
		fmt.Fprintf(w, "\nline %d, %s", s.Line, s.Words())
	}
}
