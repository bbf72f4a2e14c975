package main

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"sagline/plotting"
	"sagline/predict"
	"sagline/predict/checklist"
	"sagline/session"
	"sagline/session/disk"
)

// sheetOptions are the next dive's circumstances and the file to write.
type sheetOptions struct {
	out  string
	next plotting.NextDive
}

func newSheet() *cobra.Command {
	o := sheetOptions{next: plotting.LikeTheNewest(&session.Log{})}
	c := &cobra.Command{
		Use: "sheet [LOGBOOK]", Short: "A printable card for the next dive: what to read, and what it should be",
		Example: "  $ sagline sheet examples/joint --out card.html --depth-m 4 --water-c 12", Args: upTo(1),
		RunE: func(cmd *cobra.Command, args []string) error { return runSheet(cmd, folder(args), &o) },
	}
	f := c.Flags()
	f.StringVar(&o.out, "out", "", "file to write, .html (default: the card as text)")
	f.Float64Var(&o.next.DepthM, "depth-m", o.next.DepthM, "depth of the runs, m, where not given no more than tether and tubes allow")
	f.Float64Var(&o.next.WaterC, "water-c", 0, "water temperature, °C (default: the newest that was read, else 15)")
	f.Float64Var(&o.next.SalinityPSU, "salinity-psu", 0, "salinity, psu (default: the newest dive's)")
	f.IntVar(&o.next.Readings, "readings", o.next.Readings, "how many readings at most")
	f.StringVar(&o.next.Battery, "battery", "", batteryUsage)
	return c
}

func runSheet(cmd *cobra.Command, dir string, o *sheetOptions) error {
	ext := strings.ToLower(filepath.Ext(o.out))
	if o.out != "" && ext != ".html" {
		return useError{fmt.Errorf("--out: found %q, want a name in .html, which any browser prints", o.out)}
	}
	if o.next.Readings < 1 {
		return useError{fmt.Errorf("--readings: found %d, want 1 or more", o.next.Readings)}
	}
	r, rep, log, err := analyse(cmd, dir)
	if err != nil {
		return err
	}
	if err := hasBattery(log, o.next.Battery); err != nil {
		return err
	}
	newest := plotting.LikeTheNewest(log)
	if !cmd.Flags().Changed("salinity-psu") {
		o.next.SalinityPSU = newest.SalinityPSU
	}
	if !cmd.Flags().Changed("water-c") {
		o.next.WaterC = newest.WaterC
	}
	if err := onTether(cmd, r.Model.Vehicle, log, &o.next.DepthM, predict.Condition{WaterC: o.next.WaterC, Salinity: o.next.SalinityPSU}); err != nil {
		return err
	}
	o.next.Today = today()
	s := plotting.ReadSheet(r, rep, log, o.next)
	if s.Search, err = searchState(r, rep, log, dir); err != nil {
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

func checkLines(all []checklist.Check) (out []string) {
	for _, c := range all {
		out = append(out, "[ ] "+c.Item+": "+c.Go)
	}
	return out
}

func printSheet(w io.Writer, s *plotting.Sheet) {
	fmt.Fprintf(w, "%s: the next dive\n%s\n\n", s.Vehicle, s.Basis)
	if len(s.Open) > 0 {
		fmt.Fprintf(w, "open:\n  %s\n\n", strings.Join(s.Open, "\n  "))
	}
	table(w, func(w io.Writer) {
		fmt.Fprintln(w, "read\tshould be\twas\tshows")
		for _, run := range s.Runs {
			fmt.Fprintf(w, "%s\t\t\t\n", run.Do)
			for _, r := range run.Readings {
				fmt.Fprintf(w, "  %s\t%s\t______\t%s\n", r.Read, r.Expect, r.Purpose())
			}
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
