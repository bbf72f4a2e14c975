package main

import (
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"sagline/plotting"
	"sagline/predict/findings"
	"sagline/predict/simulate"
	"sagline/session/problem"
)

func newDemo() *cobra.Command {
	return &cobra.Command{
		Use: "demo [FOLDER]", Short: "A simulated season with a corroding joint: log, fit, trend and pictures in a new folder",
		Example: "  $ sagline demo", Args: upTo(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			dir := "sagline-demo"
			if len(args) == 1 {
				dir = args[0]
			}
			return runDemo(cmd, dir)
		},
	}
}

func runDemo(cmd *cobra.Command, dir string) error {
	e := simulate.Examples()[0]
	if err := writeLogbook(cmd, dir, []byte(simulate.VehicleText), e.WriteLog); err != nil {
		return err
	}
	r, rep, log, err := analyse(cmd, dir)
	if err != nil {
		return err
	}
	all, far, _ := plotting.ReadGrid(r, rep.Levels).Counts()
	plots, err := drawAll(r, rep, plotting.Names{Vehicle: rep.Vehicle}, drawing{dir: filepath.Join(dir, "plots"), format: "png", size: plotting.Sizes[0]})
	if err != nil {
		return err
	}
	w := cmd.OutOrStdout()
	fmt.Fprintf(w, "%s: %d simulated dives of an invented vehicle, checked; %d of %d readings lie more than %g times their usual scatter from a sound vehicle's\n",
		dir, len(log.Dives), far, all, plotting.FarSD)
	for i := range rep.Alarms {
		fmt.Fprintln(w, &rep.Alarms[i])
	}
	for _, f := range rep.Reported() {
		fmt.Fprintf(w, "open now: %s (%s sure): %s\n", f.Words(), findings.Sure(f.Sure()), f.CheckNext)
	}
	fmt.Fprintf(w, "%s in %s; next: sagline trend %s\n", problem.Count(len(plots), "picture"), filepath.Join(dir, "plots"), shellWord(dir))
	return nil
}
