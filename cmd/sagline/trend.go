package main

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"sagline/predict/drift"
	"sagline/session/problem"
)

func newTrend() *cobra.Command {
	var asJSON, asCSV, asMarkdown, strict bool
	c := &cobra.Command{
		Use: "trend [LOGBOOK…]", Short: "What drifts from dive to dive, how sure that is and how long it has left",
		Example: "  $ sagline trend examples/joint\n  $ sagline trend --csv examples/joint\n  $ sagline trend --json examples/joint examples/sound",
		RunE: func(cmd *cobra.Command, args []string) error {
			if asJSON && asCSV || asJSON && asMarkdown || asCSV && asMarkdown {
				return useError{errors.New("want one of --json, --csv and --markdown")}
			}
			if args = named(args); len(args) > 1 {
				if asCSV || asMarkdown {
					return useError{errors.New("--csv and --markdown: want one logbook")}
				}
				return trendAll(cmd, args, asJSON, strict)
			}
			r, _, err := fitLogbook(cmd, folder(args))
			if err != nil {
				return err
			}
			rep := drift.Analyse(r)
			switch {
			case asJSON:
				err = printJSON(cmd.OutOrStdout(), rep)
			case asCSV:
				err = writeEstimates(cmd.OutOrStdout(), rep)
			case asMarkdown:
				printMarkdown(cmd.OutOrStdout(), rep)
			default:
				printTrend(cmd.OutOrStdout(), rep, folder(args))
			}
			if err == nil && strict && len(rep.Findings) > 0 {
				err = errAlarmed
			}
			return err
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print the results as JSON, one line a logbook where several are named")
	c.Flags().BoolVar(&asCSV, "csv", false, "print every dive's own estimates as CSV, for other tools")
	c.Flags().BoolVar(&asMarkdown, "markdown", false, "print it for pasting into a forum")
	c.Flags().BoolVar(&strict, "strict", false, "exit with 3 when an alarm is open")
	return c
}

// printTrend words a report for a terminal of 100 columns.
func printTrend(w io.Writer, rep *drift.Report, dir string) {
	if len(rep.Dives) == 0 {
		noDives(w, rep.Vehicle, dir)
		return
	}
	last := rep.Dives[len(rep.Dives)-1]
	fmt.Fprintf(w, "%s: %s, the newest %s of %s\n\n", rep.Vehicle, problem.Count(len(rep.Dives), "dive"), last.Dive, last.Date)
	table(w, func(w io.Writer) {
		fmt.Fprintln(w, "quantity\tpattern\tsince\tlevel (95 %)\ta dive\tlimit\tdives left")
		for _, t := range rep.Trends {
			words := t.Cause.Words
			unit := rep.Unit(t.Quantity)
			t = t.In(unit)
			pattern := t.State
			level := strings.TrimSpace(interval(t.Level) + " " + unit.Name)
			switch pattern {
			case drift.Drifting:
				pattern = t.Pattern
			case drift.NotJudged:
				level = "-"
			}
			rate, left, since, limit := "-", "-", "-", "-"
			if t.PerDive != nil {
				rate = interval(*t.PerDive)
			}
			if t.DivesToLimit != nil {
				left = fmt.Sprintf("%.0f (%.0f to %.0f)", t.DivesToLimit.Value, t.DivesToLimit.Low, t.DivesToLimit.High)
			}
			if t.Limit != nil {
				limit = fmt.Sprintf("%.3g", *t.Limit)
			}
			if t.OnsetDive != "" {
				since = "dive " + t.OnsetDive
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\t%s\n", words, pattern, since, level, rate, limit, left)
		}
	})
	for _, a := range rep.Alarms {
		words := a.Cause.Words
		fmt.Fprintf(w, "\nalarm at dive %s: %s, %s since dive %s", a.RaisedDive, words, a.Pattern, a.OnsetDive)
		switch {
		case a.ClearedDive == nil:
		case a.Gone:
			fmt.Fprintf(w, " (gone since dive %s, and no line says why)", *a.ClearedDive)
		case a.Withdrawn:
			fmt.Fprintf(w, " (withdrawn at dive %s: the readings are explained otherwise since)", *a.ClearedDive)
		default:
			fmt.Fprintf(w, " (cleared by the service at dive %s)", *a.ClearedDive)
		}
	}
	if len(rep.Alarms) > 0 {
		fmt.Fprintln(w)
	}
	for _, r := range rep.Remarks {
		fmt.Fprintf(w, "\nnote: %s\n", r)
	}
	if len(rep.Findings) == 0 {
		fmt.Fprintf(w, "\n%s; next: sagline predict for the next dive's readings\n", rep.Verdict())
		return
	}
	for i := range rep.Findings {
		printFinding(w, &rep.Findings[i])
	}
}

// printFinding words a finding: what changed, how sure that is and what else it
// could be, then what to do.
func printFinding(w io.Writer, f *drift.Finding) {
	since := "since dive " + f.SinceDive
	if f.OnsetFrom != f.OnsetTo {
		since += fmt.Sprintf(" (%s to %s)", f.OnsetFrom, f.OnsetTo)
	}
	perhaps := ""
	if f.Probability < drift.Likely {
		perhaps = "perhaps "
	}
	fmt.Fprintf(w, "\n%s%s, %s\n", perhaps, f.Cause.What, since)
	fmt.Fprintf(w, "  %s (%s sure)%s\n", f.Cause.Short(), sure(f.Probability), f.OrElse())
	for _, e := range f.Evidence {
		fmt.Fprintf(w, "  because %s\n", e)
	}
	if f.Test != nil {
		fmt.Fprintf(w, "  to tell: %s\n", f.Test.Words)
	}
	fmt.Fprintf(w, "  next: %s\n", f.CheckNext)
}
