package main

import (
	"embed"
	"fmt"
	"io"
	"os"
	"path"
	"path/filepath"
	"runtime/debug"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"sagline/session"
	"sagline/session/problem"
)

// built is the day of the release, set by -ldflags "-X main.built=2026-05-31".
var built string

// pages are the manual pages, made of the commands by a test: to make them
// here would cost every start of the program a few milliseconds.
//
//go:embed man
var pages embed.FS

// The day and the source that pages are made with, which those of the build
// take the place of.
const (
	pagesDay    = "Jan 2000"
	pagesSource = "sagline VERSION"
)

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
			if err := os.MkdirAll(args[0], 0o755); err != nil {
				return err
			}
			n, err := writePages(args[0])
			if err == nil {
				fmt.Fprintf(cmd.OutOrStdout(), "%s: %s; next: man %s\n", args[0], problem.Count(n, "page"), filepath.Join(args[0], "sagline.1"))
			}
			return err
		},
	}
}

// writePages writes the pages, with the build's day and version in their
// titles.
func writePages(dir string) (n int, err error) {
	files, err := pages.ReadDir("man")
	if err != nil {
		return 0, err
	}
	titled := strings.NewReplacer(`"`+pagesDay+`"`, `"`+buildDay().Format("Jan 2006")+`"`, pagesSource, "sagline "+version)
	for _, f := range files {
		page, err := pages.ReadFile(path.Join("man", f.Name()))
		if err != nil {
			return 0, err
		}
		if err := session.SaveFile(filepath.Join(dir, f.Name()), func(w io.Writer) error {
			_, err := titled.WriteString(w, string(page))
			return err
		}); err != nil {
			return 0, err
		}
	}
	return len(files), nil
}

// buildDay is the release's day, else that of the commit it was built from,
// else a fixed one: never today, so that the bytes repeat.
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
