package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"sagline/cmd/prompt"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/problem"
)

func newAmend() *cobra.Command {
	var line int
	var strike, plain bool
	c := &cobra.Command{
		Use: "amend [LOGBOOK] [DIVE]", Short: "Change or strike a line that is written down, the old one kept as a comment",
		Long: "amend changes cells of one line of dives.csv, or strikes the line. The old line stays above it\n" +
			"as a comment with the day. Without --line it shows a dive (the newest unless one is named) and asks.",
		Example: "  $ sagline amend examples/joint --line 18 --battery-v 12.4\n  $ sagline amend examples/joint --line 18 --strike",
		Args:    upTo(2),
	}
	f := c.Flags()
	f.IntVar(&line, "line", 0, "number of the line in dives.csv, as check, compare and fit print it")
	f.BoolVar(&strike, "strike", false, "make a comment of the line")
	f.BoolVar(&plain, "plain", false, "ask in plain lines of text, as for a screen reader")
	cells := cellFlags(c)
	c.RunE = func(cmd *cobra.Command, args []string) error {
		dir, e := folder(args), cells()
		switch {
		case line == 0 && (strike || len(e) > 0):
			return useError{errors.New("amend: want --line, the number of the line to change")}
		case line == 0:
			return amendAsking(cmd, dir, args, plain)
		case strike == (len(e) > 0):
			return useError{errors.New("amend: want either --strike or cells such as --battery-v 12.4")}
		}
		v, _ := vehicle.Open(dir) // of a vehicle with problems no name is known
		if err := prompt.Known(e, thrusterNames(v)); err != nil {
			return fmt.Errorf("column \"thrusters\": %w", err)
		}
		kept := ""
		err := session.Edit(dir, func(s *session.File) error {
			kept = s.CutOff
			if strike {
				return s.Strike(line, session.ChangeNote("struck", today()))
			}
			return s.Replace(line, e, session.ChangeNote("changed", today()))
		})
		if err != nil {
			return err
		}
		if kept != "" {
			fmt.Fprintln(cmd.ErrOrStderr(), kept)
		}
		fmt.Fprintf(cmd.OutOrStdout(), "%s: line %d %s, the old one kept as a comment\n", dir, line, map[bool]string{true: "struck", false: "changed"}[strike])
		return nil
	}
	return c
}

func amendAsking(cmd *cobra.Command, dir string, args []string, plain bool) error {
	in, out := cmd.InOrStdin(), cmd.OutOrStdout()
	log, err := session.Open(dir)
	if err != nil {
		return fmt.Errorf("%w\nsagline amend %s --line N changes the line that is wrong", err, dir)
	}
	if len(log.Dives) == 0 {
		fmt.Fprintf(out, "%s: no dives yet, nothing to change; next: sagline add %s writes the first one down\n", log.File, dir)
		return nil
	}
	v, _ := vehicle.Open(dir)
	a := &prompt.Amendment{Thrusters: thrusterNames(v), Folder: dir, Log: log, Dive: log.Dives[len(log.Dives)-1].Label, Today: today()}
	if len(args) == 2 {
		a.Dive = args[1]
	}
	if a.Prompter, a.Width, err = prompter(in, out, plain); err != nil {
		return err
	}
	defer a.Close()
	n, err := a.Run()
	if err != nil && !errors.Is(err, prompt.ErrInterrupted) {
		return err
	}
	fmt.Fprintf(out, "%s changed\n", problem.Count(n, "line"))
	return nil
}
