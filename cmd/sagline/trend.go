package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
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
			if err == nil && strict && len(rep.Findings) > 0 {
				err = errAlarmed
			}
			return err
		},
	}
	c.Flags().Bool("json", false, "print the results as JSON, one line a logbook where several are named")
	c.Flags().BoolVar(&asCSV, "csv", false, "print every dive's own estimates as CSV, for other tools")
	c.Flags().BoolVar(&asMarkdown, "markdown", false, "print it for pasting into a forum")
	c.Flags().BoolVar(&strict, "strict", false, "exit with 3 when an alarm is open")
	return c
}

// printEach prints texts, one a line, each after a word.
func printEach(w io.Writer, word string, texts []string) {
	for _, text := range texts {
		fmt.Fprintf(w, "%s %s\n", word, text)
	}
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
