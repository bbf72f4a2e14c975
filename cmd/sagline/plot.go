package main

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"sagline/plotting"
	"sagline/predict/drift"
	"sagline/predict/fit"
	"sagline/session"
)

func newPlot() *cobra.Command {
	var out, format string
	c := &cobra.Command{
		Use: "plot [LOGBOOK]", Short: "Pictures: each quantity's trend, and measured against predicted",
		Example: "  $ sagline plot examples/joint --out pictures --format svg", Args: upTo(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if !slices.Contains(plotting.Formats, format) {
				return useError{fmt.Errorf("--format: found %q, want one of %s", format, strings.Join(plotting.Formats, ", "))}
			}
			r, _, err := fitLogbook(cmd, folder(args))
			if err != nil {
				return err
			}
			if out == "" {
				out = filepath.Join(folder(args), "plots")
			}
			paths, err := drawAll(r, drift.Analyse(r), out, format)
			for _, p := range paths {
				fmt.Fprintln(cmd.OutOrStdout(), p)
			}
			return err
		},
	}
	c.Flags().StringVar(&out, "out", "", "folder for the pictures (default: plots in the logbook)")
	c.Flags().StringVar(&format, "format", "png", "png, svg or pdf")
	return c
}

// drawAll draws every trend and the comparison; it returns the files made.
func drawAll(r *fit.Result, rep *drift.Report, dir, format string) ([]string, error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, err
	}
	var paths []string
	for _, t := range rep.Trends {
		p, err := plotting.Trend(rep, t.Quantity)
		if err != nil {
			return paths, err
		}
		path := filepath.Join(dir, fileName(t.Quantity)+"."+format)
		if err := plotting.Save(p, path); err != nil {
			return paths, err
		}
		paths = append(paths, path)
	}
	p, err := plotting.Against(rep.Vehicle, pairs(r))
	if err != nil {
		return paths, err
	}
	path := filepath.Join(dir, "measured_against_predicted."+format)
	return append(paths, path), plotting.Save(p, path)
}

// fileName keeps a quantity's letters and digits.
func fileName(quantity string) string {
	return strings.Map(func(c rune) rune {
		if c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' {
			return c
		}
		return '_'
	}, quantity)
}

func pairs(r *fit.Result) []plotting.Pair {
	var out []plotting.Pair
	for d := range r.Dives {
		for _, c := range r.Compare(d, r.Sound(d)) {
			kind := 3
			switch c.Quantity {
			case session.BatteryV:
				kind = 0
			case session.CurrentA:
				kind = 1
			case session.VehicleV:
				kind = 2
			}
			out = append(out, plotting.Pair{Dive: d + 1, Z: c.Z, SetAside: c.Aside, Kind: kind})
		}
	}
	return out
}
