package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"sagline/cmd/prompt"
	"sagline/predict/advice"
	"sagline/predict/drift"
	"sagline/predict/fit"
	"sagline/predict/forecast"
	"sagline/predict/newdive"
	"sagline/predict/outlook"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/problem"
)

func newAdd() *cobra.Command {
	var plain, guided bool
	c := &cobra.Command{
		Use: "add [LOGBOOK]", Short: "Write a dive down, line by line, each beside what it should be",
		Long: "add takes a dive a line at a time, as in a notebook: numbers in the order shown, or with their\n" +
			"unit or column in any order, thrusters by any short form, - for what was not measured:\n\n" +
			"  p+s 12.31 8.1 8.72 4.2 .45\n  p+s 4.2m 12.31V 8.1A .45m/s note weed on the tether\n\n" +
			"A line is shown as understood, each reading beside what it should be, and only what is in doubt is\n" +
			"asked about. Every line is on disk before the next is asked for. --guided asks for a cell at a time,\n" +
			"as a first dive is. Without a terminal it takes one line from flags, or lines of CSV with a header\n" +
			"from standard input.",
		Example: "  $ sagline add examples/joint --dive 31 --date 2026-10-24 --thrusters off --battery-v 12.6\n" +
			"  printf 'dive,date,thrusters,battery_v\\n31,2026-10-24,off,12.6\\n' | sagline add examples/joint",
		Args: upTo(1),
	}
	f := c.Flags()
	f.BoolVar(&plain, "plain", false, "ask in plain lines of text, as for a screen reader")
	f.BoolVar(&guided, "guided", false, "ask for a cell at a time; a first dive is asked for so unless --guided=false")
	cells := cellFlags(c)
	c.RunE = func(cmd *cobra.Command, args []string) error {
		dir := folder(args)
		if e := cells(); len(e) > 0 {
			return addLines(cmd, dir, given{rows: []session.Row{e}})
		}
		in, out := cmd.InOrStdin(), cmd.OutOrStdout()
		if !plain && !terminal(in) {
			var columns []string // the log's, if there is one
			if s, err := session.View(dir); err == nil {
				columns = s.Seen().Columns
			}
			g := given{file: "standard input"}
			var err error
			if g.rows, g.lines, err = session.ReadRows(in, g.file, columns...); err != nil {
				return err
			}
			return addLines(cmd, dir, g)
		}
		return interview(cmd, dir, in, out, plain)
	}
	return c
}

// cellFlags adds a flag for every column of the log to a command, and returns a function
// that collects the cells given.
func cellFlags(c *cobra.Command) func() session.Row {
	values := map[string]*string{}
	for _, col := range session.Columns() {
		values[col.Name] = c.Flags().String(flagOf(col.Name), "", col.Help)
	}
	custom := c.Flags().StringToString("own", nil, "cells of the log's own columns, as wind=calm")
	return func() session.Row {
		e := session.Row{}
		maps.Copy(e, *custom)
		for name, text := range values {
			if c.Flags().Changed(flagOf(name)) {
				e[name] = *text
			}
		}
		return e
	}
}

func flagOf(column string) string { return strings.ReplaceAll(column, "_", "-") }

// expectations returns what the next dive of a logbook is compared with. A vehicle or log with
// problems must not keep a person from writing down readings, so with an error it also returns what
// could be read, and a nil forecast. It prints a warning if the log shows a jammed thruster.
func expectations(cmd *cobra.Command, dir string) (*vehicle.Vehicle, *session.Log, *forecast.Forecast, error) {
	v, errV := vehicle.Open(dir)
	if errV == nil {
		errV = showIn(cmd, dir, v)
	}
	log, errL := session.Open(dir)
	if errV != nil || errL != nil {
		return v, log, nil, ofBoth(errV, errL)
	}
	if len(log.Dives) == 0 {
		return v, log, forecast.AsBuilt(v), nil
	}
	r, err := fit.Fit(v, log)
	if err != nil {
		return v, log, nil, err
	}
	rep := drift.Analyse(r)
	for _, text := range rep.UntilFreed() {
		errPrinter(cmd)(text)
	}
	return v, log, forecast.New(r, outlook.Present(r, rep), rep.Doubts(), rep.Posterior), nil
}

func interview(cmd *cobra.Command, dir string, in io.Reader, out io.Writer, plain bool) error {
	d, err := nextDive(cmd, dir)
	if err != nil {
		return err
	}
	i := &prompt.Interview{Folder: dir, Dive: d, Today: today(), Guided: len(d.Log.Dives) == 0}
	if f := cmd.Flags().Lookup("guided"); f.Changed {
		i.Guided = f.Value.String() == "true"
	}
	if i.Asker, err = asker(in, out, plain); err != nil {
		return err
	}
	defer i.Close()
	dive, lines, err := i.Run()
	if errors.Is(err, prompt.ErrInterrupted) {
		return fmt.Errorf("broken off: %s of dive %s on disk, the one being typed is not", problem.Count(lines, "line"), dive)
	}
	if err != nil || lines == 0 {
		return err
	}
	fmt.Fprintln(out)
	return printAfterDive(cmd, dir, dive, i.Width)
}

// nextDive returns the dive that is written down next. If there are no expectations it prints why;
// of a log with problems it uses what File.Seen returns.
func nextDive(cmd *cobra.Command, dir string) (*newdive.Dive, error) {
	v, log, f, err := expectations(cmd, dir)
	if log == nil {
		s, err := session.View(dir)
		if err != nil {
			return nil, err
		}
		log = s.Seen()
	}
	if err != nil {
		fmt.Fprintf(cmd.ErrOrStderr(), "%v\nso no reading is expected; sagline check %s prints all that is wrong\n", err, dir)
	}
	return newdive.New(log, f, v, prompt.RowsIn(dir)), nil
}

// asker returns an Asker for the terminal, or for plain lines of text if there is no terminal.
func asker(in io.Reader, out io.Writer, plain bool) (a prompt.Asker, err error) {
	a.Width = cmp.Or(widthOf(out), 80)
	if plain || !terminal(in) || !terminal(out) || os.Getenv("TERM") == "dumb" {
		a.Prompter = prompt.Plain(in, out)
		return a, nil
	}
	a.Prompter, err = prompt.Terminal(in, file(out))
	return a, err
}

// today returns the local day as midnight UTC, as dates of the log are held.
func today() time.Time {
	y, m, d := time.Now().Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// errPrinter returns a function that prints lines on standard error.
func errPrinter(cmd *cobra.Command) func(text string) {
	return func(text string) { fmt.Fprintln(cmd.ErrOrStderr(), text) }
}

// given holds rows to write, from lines of a file or from flags.
type given struct {
	rows  []session.Row
	file  string
	lines []int
}

// at returns where the i-th row was found, "" and 0 for a row from flags.
func (g *given) at(i int) (file string, line int) {
	if g.lines == nil {
		return "", 0
	}
	return g.file, g.lines[i]
}

// read converts answers into cells. The error lists what is wrong in each row by itself.
func (g *given) read(d *newdive.Dive) error {
	var all problem.List
	for i, e := range g.rows {
		list := d.Reader.Cells(e)
		if d.Measure(e); list == nil {
			_, list = session.ParseRows(e)
		}
		for _, p := range list {
			p.File, p.Line = g.at(i)
		}
		all = append(all, list...)
	}
	return all.Err()
}

// addLines writes lines that are given all at once.
func addLines(cmd *cobra.Command, dir string, g given) error {
	lines := g.rows
	if len(lines) == 0 {
		return useError{errors.New("add: no line to write; give flags such as --battery-v 12.6, or CSV with a header on standard input")}
	}
	for i, e := range lines {
		if !slices.ContainsFunc(slices.Collect(maps.Keys(e)), func(column string) bool { return column != "dive" && column != "date" && e[column] != "" }) {
			p := problem.Problem{Text: "no more than its dive and date, want what was read or done"}
			p.File, p.Line = g.at(i)
			return useError{fmt.Errorf("add: %w", &p)}
		}
	}
	d, err := nextDive(cmd, dir)
	if err != nil {
		return err
	}
	if err := g.read(d); err != nil {
		return err
	}
	if g.lines == nil && !newdive.Says(lines[0]) {
		return useError{errors.New("add: nothing was read on this line, want a reading, a note or what was done; it is not written")}
	}
	next, day := newdive.NextDive(d.Log, today())
	dive, another := lines[0]["dive"], ""
	if dive == "" {
		dive, another = next, newdive.Another(d.Log)
	}
	// Undated lines of one new dive get the day on which they are written; for several dives a missing
	// day stays unknown.
	dated := func(e session.Row) bool { return e["date"] != "" || e["dive"] != lines[0]["dive"] }
	assumed := false // whether the day is
	warn := errPrinter(cmd)
	err = prompt.Edit(dir, warn, func(s *session.File) error {
		for _, e := range lines {
			dive = cmp.Or(e["dive"], dive)
			if err := dayFits(s.Seen(), dive, e["date"], e["time"]); err != nil {
				return err
			}
			e["dive"] = dive
		}
		if assumed = s.Seen().Find(dive) < 0 && !slices.ContainsFunc(lines, dated); assumed {
			lines[0]["date"] = day
		}
		return s.Append(lines...)
	})
	if err != nil {
		return err
	}
	if behind := newdive.ClockBehind(d.Log, today()); behind != "" && assumed {
		warn(behind)
	}
	if another != "" {
		warn(another)
	}
	location := func(i int) string {
		if file, line := g.at(i); line > 0 {
			return fmt.Sprintf("%s:%d: ", file, line)
		}
		return ""
	}
	for _, doubt := range d.All(lines, location) {
		warn(doubt)
	}
	printDangers(cmd.OutOrStdout(), dir, dive)
	fmt.Fprintf(cmd.OutOrStdout(), "%s: %s written; next: sagline fit %s %s\n", dir, problem.Count(len(lines), "line"), shellWord(dir), shellWord(dive))
	return nil
}

// dayFits returns an error if a day is given for a line of a dive that the log has with another day or none:
// the day would be dropped.
func dayFits(log *session.Log, dive, day, clock string) error {
	i := log.Find(dive)
	if i < 0 || day == "" || log.Dives[i].IsOn(day, clock) {
		return nil
	}
	if logged := log.Dives[i].Day(); logged != "" {
		return fmt.Errorf("column \"date\": found %s in dive %s of %s, want one day a dive", day, problem.Quote(dive), logged)
	}
	return fmt.Errorf("column \"date\": found %s in dive %s, which has no day, want it on that dive's first line: sagline amend", day, problem.Quote(dive))
}

// printAfterDive prints what the dive that was just written down shows, what to check before the
// next dive, and which reading would tell more.
func printAfterDive(cmd *cobra.Command, dir, dive string, width int) error {
	r, rep, _, err := analyse(cmd, dir)
	if err != nil {
		return err
	}
	which, err := diveAt(r, dive)
	if err != nil {
		return err
	}
	after := outlook.After(r, rep, which)
	w := cmd.OutOrStdout()
	say := func(head, text string) { _, _ = io.WriteString(w, prompt.Wrap(head, text, width)) }
	say(fmt.Sprintf("dive %s: ", dive), after.Says)
	for _, danger := range advice.DiveDangers(r.ModelOf(which).Vehicle, r.WithoutOutliers(which)) {
		say("mind: ", danger.String())
	}
	if after.Check != "" {
		say("before the next dive: ", after.Check)
	}
	if after.Read != "" {
		say("would tell more: ", after.Read)
	}
	fmt.Fprintf(w, "next: sagline trend %s\n", shellWord(dir))
	return nil
}
