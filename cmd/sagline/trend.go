package main

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"sagline/plotting"
	"sagline/predict/findings"
	"sagline/session"
	"sagline/session/problem"
)

func newTrend() *cobra.Command {
	var asCSV, asMarkdown, strict bool
	c := &cobra.Command{
		Use: "trend [LOGBOOK…]", Short: "What drifts from dive to dive, how sure that is and how long it has left",
		Example: "  $ sagline trend examples/joint\n  $ sagline trend --csv examples/joint\n  $ sagline trend --json examples/joint examples/sound",
		RunE: func(cmd *cobra.Command, args []string) error {
			asJSON := wantsJSON(cmd)
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
			if err == nil && strict && rep.Alarming() {
				err = errAlarmed
			}
			return err
		},
	}
	c.Flags().Bool("json", false, "print the results as JSON, one line a logbook where several are named")
	c.Flags().BoolVar(&asCSV, "csv", false, "print every dive's own estimates as CSV, for other tools")
	c.Flags().BoolVar(&asMarkdown, "markdown", false, "print it for pasting into a forum")
	c.Flags().BoolVar(&strict, "strict", false, "exit with 3 when an alarm is open or a level stands past its limit")
	return c
}

// printTrend prints a report for a terminal of 100 columns.
func printTrend(w io.Writer, rep *findings.Report, dir string) {
	if len(rep.Dives) == 0 {
		noDives(w, rep.Vehicle, dir)
		return
	}
	last := rep.Dives[len(rep.Dives)-1]
	fmt.Fprintf(w, "%s: %s, the newest %s%s\n", rep.Vehicle, problem.Count(len(rep.Dives), "dive"), last.Dive, findings.Of(last.Date))
	printEach(w, "rebuilt", rep.Rebuilt)
	fmt.Fprintln(w)
	table(w, func(w io.Writer) {
		fmt.Fprintln(w, strings.Join(findings.TableHead, "\t"))
		for _, row := range rep.Table() {
			fmt.Fprintln(w, strings.Join(row, "\t"))
		}
	})
	if len(rep.Alarms) > 0 {
		fmt.Fprintln(w)
	}
	for i := range rep.Alarms {
		fmt.Fprintf(w, "%s\n", &rep.Alarms[i]) // a line at a time, so that it is wrapped
	}
	for _, r := range rep.Remarks {
		fmt.Fprintf(w, "\nnote: %s\n", r)
	}
	reported := rep.Reported()
	if len(reported) == 0 {
		fmt.Fprintf(w, "\n%s; next: sagline predict %s for the next dive's readings\n", rep.Verdict(), shellWord(dir))
		return
	}
	for i := range reported {
		fmt.Fprintf(w, "\n%s\n", strings.Join(reported[i].Lines(), "\n  "))
	}
}

// writeEstimates writes a line of CSV for each dive: its own estimate of every quantity, in the unit
// of the column's name, with its 95 % interval, then its services and the number of readings set
// aside.
func writeEstimates(w io.Writer, rep *findings.Report) error {
	header := []string{"dive", "date"}
	for _, t := range rep.Trends {
		header = append(header, t.Quantity, t.Quantity+"_low", t.Quantity+"_high")
	}
	rows := [][]string{append(header, "serviced", "set_aside")}
	number := func(x float64) string { return strconv.FormatFloat(x, 'g', 6, 64) }
	for _, d := range rep.Dives {
		row := []string{session.EscapeFormula(d.Dive), d.Date}
		for _, t := range rep.Trends {
			e, ok := d.Estimates[t.Quantity]
			if !ok {
				row = append(row, "", "", "")
				continue
			}
			row = append(row, number(e.Value), number(e.Low), number(e.High))
		}
		rows = append(rows, append(row, strings.Join(d.Serviced, " + "), strconv.Itoa(len(d.SetAside))))
	}
	return csv.NewWriter(w).WriteAll(rows)
}

// printMarkdown prints a report as Markdown.
func printMarkdown(w io.Writer, rep *findings.Report) {
	if len(rep.Dives) == 0 {
		fmt.Fprintf(w, "**%s**: no dives yet\n", marked(rep.Vehicle))
		return
	}
	last := rep.Dives[len(rep.Dives)-1]
	fmt.Fprintf(w, "**%s**: %s, the newest %s%s\n\n", marked(rep.Vehicle), problem.Count(len(rep.Dives), "dive"), marked(last.Dive), findings.Of(last.Date))
	fmt.Fprintf(w, "| %s |\n%s|\n", strings.Join(findings.TableHead, " | "), strings.Repeat("|---", len(findings.TableHead)))
	for _, row := range rep.Table() {
		for i := range row {
			row[i] = marked(row[i])
		}
		fmt.Fprintf(w, "| %s |\n", strings.Join(row, " | "))
	}
	fmt.Fprintln(w)
	for _, b := range rep.Rebuilt {
		fmt.Fprintf(w, "- rebuilt %s\n", marked(b))
	}
	for i := range rep.Alarms {
		fmt.Fprintf(w, "- %s\n", marked(rep.Alarms[i].String()))
	}
	reported := rep.Reported()
	for _, f := range reported {
		fmt.Fprintf(w, "- **%s** (%s sure) since dive %s; next: %s\n", marked(f.Words()), findings.Sure(f.Sure()),
			marked(f.SinceDive), marked(f.CheckNext))
	}
	if len(reported) == 0 {
		fmt.Fprintf(w, "- %s\n", marked(rep.Verdict()))
	}
	for _, r := range rep.Remarks {
		fmt.Fprintf(w, "- note: %s\n", marked(r))
	}
}

// marked escapes a text for Markdown.
func marked(s string) string {
	var b strings.Builder
	for _, c := range plotting.Sentence(s) {
		if strings.ContainsRune("\\`*_{}[]<>()#|!~&@", c) {
			b.WriteByte('\\')
		}
		b.WriteRune(c)
	}
	return b.String()
}
