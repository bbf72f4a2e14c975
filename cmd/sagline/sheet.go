package main

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"sagline/plotting"
	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/causes"
	"sagline/predict/checklist"
	"sagline/predict/drift"
	"sagline/predict/fit"
	"sagline/session"
	"sagline/session/disk"
	"sagline/session/quantity"
	"sagline/session/units"
)

// sheetOptions are the next dive's circumstances and the file to write.
type sheetOptions struct {
	out                         string
	depthM, waterC, salinityPSU float64
	readings                    int
}

func newSheet() *cobra.Command {
	var o sheetOptions
	c := &cobra.Command{
		Use: "sheet [LOGBOOK]", Short: "A printable card for the next dive: what to read, and what it should be",
		Example: "  $ sagline sheet examples/joint --out card.html --depth-m 4 --water-c 12", Args: upTo(1),
		RunE: func(cmd *cobra.Command, args []string) error { return runSheet(cmd, folder(args), &o) },
	}
	f := c.Flags()
	f.StringVar(&o.out, "out", "", "file to write, .html (default: the card as text)")
	f.Float64Var(&o.depthM, "depth-m", 3, "depth of the runs, m")
	f.Float64Var(&o.waterC, "water-c", 15, "water temperature, °C")
	f.Float64Var(&o.salinityPSU, "salinity-psu", 0, "salinity, psu")
	f.IntVar(&o.readings, "readings", 10, "how many readings at most")
	return c
}

func runSheet(cmd *cobra.Command, dir string, o *sheetOptions) error {
	ext := strings.ToLower(filepath.Ext(o.out))
	if o.out != "" && ext != ".html" {
		return useError{fmt.Errorf("--out: found %q, want a name in .html, which any browser prints", o.out)}
	}
	if o.readings < 1 {
		return useError{fmt.Errorf("--readings: found %d, want 1 or more", o.readings)}
	}
	r, log, err := fitLogbook(cmd, dir)
	if err != nil {
		return err
	}
	s := buildSheet(r, log, o)
	if s.Search, err = searchState(r, drift.Analyse(r), log, dir); err != nil {
		return err
	}
	if o.out == "" {
		printSheet(cmd.OutOrStdout(), s)
		return nil
	}
	if err := disk.SaveOutput(o.out, s.WriteHTML); err != nil {
		return err
	}
	fmt.Fprintf(cmd.OutOrStdout(), "%s; next: print it from a browser, fill it in, write it into %s\n", o.out, log.File)
	return nil
}

func buildSheet(r *fit.Result, log *session.Log, o *sheetOptions) *plotting.Sheet {
	rep := drift.Analyse(r)
	p := drift.Present(r, rep)
	v := r.Model.Vehicle
	after := "As built"
	if n := len(log.Dives); n > 0 {
		after = fmt.Sprintf("As believed after dive %s of %s", log.Dives[n-1].Label, log.Dives[n-1].Date.Format("2 Jan 2006"))
	}
	c := predict.Condition{DepthM: o.depthM, TetherOutM: v.Tether.LengthM, WaterC: o.waterC, Salinity: o.salinityPSU, BallastG: ballastOn(log)}
	s := &plotting.Sheet{Vehicle: v.Name,
		Basis: fmt.Sprintf("%s, on a rested battery of %.1f V, %s deep in water of %s and %g psu. Ranges hold 95 %%; "+
			"what the battery rests above or below that, add to every voltage.",
			after, p[predict.OpenCircuitV], v.Units.Plain(o.depthM, "m"), v.Units.Plain(o.waterC, "°C"), o.salinityPSU)}
	open := map[int]float64{}
	for _, k := range r.Faults() {
		open[k] = 1
	}
	for _, f := range rep.Findings {
		if f.Test != nil {
			s.Open = append(s.Open, "read this first: "+f.Test.Words)
		}
		if k := f.Cause.Param(); k >= 0 {
			open[k] = 3
			if f.Test == nil {
				s.Open = append(s.Open, isItStill(r, p, c, f.Cause))
			}
		}
		s.Open = append(s.Open, fmt.Sprintf("%s since dive %s (%s sure): %s", f.Cause.Short(), f.SinceDive, sure(f.Probability), f.CheckNext))
	}
	for _, t := range rep.Trends {
		if t.DivesToLimit != nil {
			words := t.Cause.Words
			s.Services = append(s.Services, fmt.Sprintf("%s: dives until its limit, about %.0f (%.0f to %.0f)", words, t.DivesToLimit.Value, t.DivesToLimit.Low, t.DivesToLimit.High))
		}
	}
	for _, d := range rep.Dives {
		if len(d.Serviced) > 0 {
			s.Services = append(s.Services, fmt.Sprintf("%s serviced before dive %s of %s", strings.Join(d.Serviced, ", "), d.Dive, d.Date))
		}
	}
	for _, x := range r.Card(p, c, open, o.readings) {
		s.Readings = append(s.Readings, sheetReading(r, x))
	}
	margins := marginsOf(v, r, rep, log, c, 0)
	for _, l := range margins.Lines(v.Units) {
		if l.Judged && !l.Met || strings.HasPrefix(l.Name, "jammed") {
			s.Margins = append(s.Margins, l.String())
		}
	}
	if n := len(log.Dives); n > 0 {
		for _, d := range advice.DiveDangers(v, &log.Dives[n-1]) {
			if !strings.HasPrefix(d.Name, "tube") { // which the margins have
				s.Margins = append(s.Margins, d.String())
			}
		}
	}
	for _, d := range checklist.DueParts(v, log, today()) {
		s.Services = append(s.Services, d.Text)
	}
	s.Before, s.After = checklist.Before(r, rep, &margins, c), checklist.After(v)
	s.Cautions = advice.AllCautions()
	return s
}

// isItStill is the one reading that separates a fault from its absence.
func isItStill(r *fit.Result, p predict.Params, c predict.Condition, k *causes.Cause) string {
	sound := append(predict.Params(nil), p...)
	for _, t := range k.Amplitudes[0].Terms {
		sound[t.Param] = r.Base[t.Param]
	}
	words := k.Short()
	x, there, apart, ok := r.Separates(p, sound, c, false)
	if !ok {
		return fmt.Sprintf("is it still %s? no single reading of this log's kinds would say", words)
	}
	column := readingColumn(x.Quantity, r.Model.Vehicle.Units)
	side, limit := "below", (x.Expected+there)/2
	if x.Expected > limit {
		side = "above"
	}
	row := sheetReading(r, x)
	return fmt.Sprintf("is it still %s? read %s with %s: %s %s %s says yes (%.0f sd between yes and no)", words, column.Name, row.Do, side,
		rounded(column.FromBase(limit), math.Abs(column.FromBase(limit)-column.FromBase(x.Expected))), column.Unit, apart)
}

// sheetReading words one reading of the card.
func sheetReading(r *fit.Result, x fit.Reading) plotting.SheetReading {
	v := r.Model.Vehicle
	do := drivesName(v, x.Sign)
	switch {
	case x.Climbing:
		do = "all off, floating up freely"
	case do == "off":
		do = "all off, at rest"
	case x.Held:
		do += ", held still"
	}
	column := readingColumn(x.Quantity, v.Units)
	low, high := column.FromBase(x.Low), column.FromBase(x.High)
	half := (high - low) / 2
	words := ""
	for _, c := range r.Causes() {
		if c.Param() == x.Param {
			words = c.Words
			break
		}
	}
	return plotting.SheetReading{Do: do, Read: column.Name, About: words,
		Expect: fmt.Sprintf("%s to %s %s", rounded(low, half), rounded(high, half), column.Unit)}
}

// readingColumn is the column that a reader's log would hold a quantity in.
func readingColumn(q quantity.Quantity, s units.System) *session.Column {
	var first *session.Column
	for _, c := range session.Columns() {
		if is, reading := session.QuantityOf(c.Name); !reading || is != q {
			continue
		}
		if first == nil {
			first = c
		}
		if s.In(first.Unit).Name == c.Unit {
			return c
		}
	}
	return first
}

func checkLines(all []checklist.Check) (out []string) {
	for _, c := range all {
		out = append(out, "[ ] "+c.Look+": "+c.Go)
	}
	return out
}

func printSheet(w io.Writer, s *plotting.Sheet) {
	fmt.Fprintf(w, "%s: the next dive\n%s\n\n", s.Vehicle, s.Basis)
	if len(s.Open) > 0 {
		fmt.Fprintf(w, "open:\n  %s\n\n", strings.Join(s.Open, "\n  "))
	}
	table(w, func(w io.Writer) {
		fmt.Fprintln(w, "do\tread\tshould be\twas\tabout")
		for _, r := range s.Readings {
			fmt.Fprintf(w, "%s\t%s\t%s\t______\t%s\n", r.Do, r.Read, r.Expect, r.About)
		}
	})
	for _, part := range []struct {
		title string
		lines []string
	}{{"margins", s.Margins}, {"where it is", s.Search}, {"serviced and due", s.Services},
		{"before the dive: look at, go (else no-go)", checkLines(s.Before)}, {"after the dive", checkLines(s.After)}, {"mind", s.Cautions}} {
		if len(part.lines) > 0 {
			fmt.Fprintf(w, "\n%s:\n  %s\n", part.title, strings.Join(part.lines, "\n  "))
		}
	}
	fmt.Fprintln(w, "\nnext: --out card.html to print it from a browser")
}
