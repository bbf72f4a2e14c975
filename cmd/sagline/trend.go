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
			_, rep, _, err := analyse(cmd, folder(args))
			if err != nil {
				return err
			}
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

// printBuilds prints what was rebuilt.
func printBuilds(w io.Writer, builds []string) {
	for _, b := range builds {
		fmt.Fprintf(w, "rebuilt %s\n", b)
	}
}

// printTrend words a report for a terminal of 100 columns.
func printTrend(w io.Writer, rep *drift.Report, dir string) {
	if len(rep.Dives) == 0 {
		noDives(w, rep.Vehicle, dir)
		return
	}
	last := rep.Dives[len(rep.Dives)-1]
	fmt.Fprintf(w, "%s: %s, the newest %s of %s\n", rep.Vehicle, problem.Count(len(rep.Dives), "dive"), last.Dive, last.Date)
	printBuilds(w, rep.Rebuilt)
	fmt.Fprintln(w)
	table(w, func(w io.Writer) {
		fmt.Fprintln(w, strings.Join(drift.TableHead, "\t"))
		for _, row := range rep.Table() {
			fmt.Fprintln(w, strings.Join(row, "\t"))
		}
	})
	for i := range rep.Alarms {
		fmt.Fprintf(w, "\n%s", &rep.Alarms[i])
	}
	if len(rep.Alarms) > 0 {
		fmt.Fprintln(w)
	}
	for _, r := range rep.Remarks {
		fmt.Fprintf(w, "\nnote: %s\n", r)
	}
	told := rep.Told()
	if len(told) == 0 {
		fmt.Fprintf(w, "\n%s; next: sagline predict for the next dive's readings\n", rep.Verdict())
		return
	}
	for i := range told {
		fmt.Fprintf(w, "\n%s\n", strings.Join(told[i].Lines(), "\n  "))
	}
}
