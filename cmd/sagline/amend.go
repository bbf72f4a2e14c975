package main

import (
	"errors"
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"sagline/cmd/prompt"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/problem"
	"sagline/session/shorthand"
)

func newAmend() *cobra.Command {
	var line int
	var strike, plain bool
	c := &cobra.Command{
		Use: "amend [LOGBOOK] [DIVE]", Short: "Change or strike a line that is written down, the old one kept as a comment",
		Long: "amend changes cells of one line of a dive, or strikes the line; - empties a cell. The old line stays\n" +
			"above it as a comment with the day. Lines are counted within the dive, as add shows them; where no dive\n" +
			"is named they are those of dives.csv, as check prints them. Without --line it shows a dive (the newest\n" +
			"unless one is named) and asks.",
		Example: "  $ sagline amend examples/joint 30 --line 3 --battery-v 12.4\n  $ sagline amend examples/joint --line 18 --strike",
		Args:    upTo(2),
	}
	f := c.Flags()
	f.IntVar(&line, "line", 0, "number of the line in the dive, or without a dive in dives.csv, as check, compare and fit print it")
	f.BoolVar(&strike, "strike", false, "make a comment of the line")
	f.BoolVar(&plain, "plain", false, "ask in plain lines of text, as for a screen reader")
	cells := cellFlags(c)
	c.RunE = func(cmd *cobra.Command, args []string) (err error) {
		dir, e := folder(args), cells()
		switch {
		case line == 0 && (strike || len(e) > 0):
			return useError{errors.New("amend: want --line, the number of the line to change")}
		case line == 0:
			return amendAsking(cmd, dir, args, plain)
		case strike == (len(e) > 0):
			return useError{errors.New("amend: want either --strike or cells such as --battery-v 12.4")}
		}
		v, _ := vehicle.Open(dir) // nil if it has problems: no names are known then
		if err := (&shorthand.Reader{Thrusters: v.ThrusterNames(), Sides: v.Sides()}).Cells(e).Err(); err != nil {
			return err
		}
		which := fmt.Sprintf("line %d", line)
		if len(args) == 2 {
			which = fmt.Sprintf("dive %s, line %d", args[1], line)
			if line, err = lineOf(dir, args[1], line); err != nil {
				return err
			}
		}
		err = prompt.Edit(dir, errPrinter(cmd), func(s *session.File) error {
			if strike {
				return s.Strike(line, session.ChangeNote("struck", today()))
			}
			return s.Replace(line, e, session.ChangeNote("changed", today()))
		})
		if errors.Is(err, session.ErrNoRow) {
			err = useError{fmt.Errorf("--line: %w", err)}
		}
		if err != nil {
			return err
		}
		fmt.Fprintf(cmd.OutOrStdout(), "%s: %s %s, the old one kept as a comment; next: sagline check %s, whether it fits\n", dir, which, map[bool]string{true: "struck", false: "changed"}[strike], shellWord(dir))
		return nil
	}
	return c
}

// lineOf returns the number, in the file, of a dive's n-th line. Both count from 1.
func lineOf(dir, dive string, n int) (int, error) {
	log, err := session.Open(dir)
	if err != nil {
		return 0, err
	}
	i := log.Find(dive)
	if i < 0 {
		return 0, noDive(log.Labels(), dive)
	}
	lines := log.Dives[i].Lines
	if n < 1 || n > len(lines) {
		return 0, useError{fmt.Errorf("--line: found %d, dive %s has lines 1 to %d", n, dive, len(lines))}
	}
	return lines[n-1].Number, nil
}

func amendAsking(cmd *cobra.Command, dir string, args []string, plain bool) error {
	in, out := cmd.InOrStdin(), cmd.OutOrStdout()
	log, err := session.Open(dir)
	switch {
	case slices.ContainsFunc(problem.Listed(err), func(p *problem.Problem) bool { return p.Line > 0 }):
		return fmt.Errorf("%w\nsagline amend %s --line N changes the line that is wrong", err, shellWord(dir))
	case err != nil:
		return err
	}
	if len(log.Dives) == 0 {
		fmt.Fprintf(out, "%s: no dives yet, nothing to change; next: sagline add %s writes the first one down\n", log.File, shellWord(dir))
		return nil
	}
	v, _ := vehicle.Open(dir)
	a := &prompt.Amendment{Vehicle: v, Folder: dir, Dive: log.Dives[len(log.Dives)-1].Label, Today: today()}
	if len(args) == 2 {
		if a.Dive = args[1]; log.Find(a.Dive) < 0 {
			return noDive(log.Labels(), a.Dive)
		}
	}
	if a.Asker, err = asker(in, out, plain); err != nil {
		return err
	}
	defer a.Close()
	n, err := a.Run()
	if err != nil && !errors.Is(err, prompt.ErrInterrupted) {
		return err
	}
	next := ""
	if n > 0 {
		next = "; next: sagline check " + shellWord(dir) + ", whether the new readings fit"
	}
	fmt.Fprintf(out, "%s changed%s\n", problem.Count(n, "line"), next)
	return nil
}
