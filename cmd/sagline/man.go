package main

import (
	"fmt"
	"io"
	"path/filepath"
	"runtime/debug"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"

	"sagline/session/disk"
	"sagline/session/problem"
)

// built is the day of the release, set by -ldflags "-X main.built=2026-05-31".
var built string

func newMan() *cobra.Command {
	return &cobra.Command{
		Use: "man FOLDER", Short: "Write a manual page for each command into a folder",
		Long: "Writes the manual pages that the man command shows, one a command, into a folder. The same\n" +
			"build writes the same bytes.",
		Example: "  $ sagline man pages", Args: upTo(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) != 1 {
				return useError{fmt.Errorf("man: want the folder to write to")}
			}
			if err := disk.MakeFolder(args[0]); err != nil {
				return err
			}
			n, err := writePages(cmd.Root(), args[0])
			if err == nil {
				fmt.Fprintf(cmd.OutOrStdout(), "%s: %s; next: man %s\n", args[0], problem.Count(n, "page"), filepath.Join(args[0], "sagline.1"))
			}
			return err
		},
	}
}

// writePages writes the manual pages of a command and its subcommands, and returns their number.
func writePages(c *cobra.Command, dir string) (n int, err error) {
	if c.HasParent() && !c.IsAvailableCommand() {
		return 0, nil
	}
	c.DisableAutoGenTag = true
	header := doc.GenManHeader{Section: "1", Date: new(buildDay()), Source: "sagline " + version, Manual: "sagline"}
	file := strings.ReplaceAll(c.CommandPath(), " ", "-") + ".1"
	if err := disk.SaveOutput(filepath.Join(dir, file), func(w io.Writer) error { return doc.GenMan(c, &header, w) }); err != nil {
		return 0, err
	}
	n = 1
	for _, below := range c.Commands() {
		more, err := writePages(below, dir)
		if n += more; err != nil {
			return n, err
		}
	}
	return n, nil
}

// buildDay returns the day of the release, else that of the commit it was built from, else a fixed
// day. It is never today, so that builds are reproducible.
func buildDay() time.Time {
	if day, err := time.Parse(time.DateOnly, built); err == nil {
		return day
	}
	if info, ok := debug.ReadBuildInfo(); ok {
		for _, s := range info.Settings {
			if day, err := time.Parse(time.RFC3339, s.Value); s.Key == "vcs.time" && err == nil {
				return day
			}
		}
	}
	return time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
}
