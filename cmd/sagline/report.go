package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"sagline/plotting/report"
	"sagline/predict/advice"
	"sagline/session/disk"
	"sagline/session/problem"
)

// leavable are the values of --leave-out.
var leavable = []string{"notes", "dates"}

func newReport() *cobra.Command {
	var out string
	var leaveOut []string
	c := &cobra.Command{
		Use: "report [LOGBOOK…]", Short: "One page to pass around: what has changed, what to check, pictures and tables",
		Long: "Writes one HTML file that needs nothing else: it opens from a memory stick or a mail on any\n" +
			"phone or computer, without a network. Several logbooks make one page with an overview.",
		Example: "  $ sagline report examples/joint -o page.html\n  $ sagline report examples/joint examples/sound -o fleet.html --leave-out notes,dates",
		RunE: func(cmd *cobra.Command, args []string) error {
			var o report.Options
			for _, what := range leaveOut {
				if !slices.Contains(leavable, what) {
					return useError{fmt.Errorf("--leave-out: found %q, want notes, dates or both%s", what, problem.Suggest(what, leavable))}
				}
			}
			o.LeaveNotes, o.LeaveDates = slices.Contains(leaveOut, "notes"), slices.Contains(leaveOut, "dates")
			if ext := strings.ToLower(filepath.Ext(out)); ext != ".html" && ext != ".htm" {
				return useError{fmt.Errorf("--out: found %q, want a name in .html", out)}
			}
			if len(args) == 0 {
				args = []string{"."}
			}
			return runReport(cmd, args, out, o)
		},
	}
	c.Flags().StringVarP(&out, "out", "o", "report.html", "file to write")
	c.Flags().StringSliceVar(&leaveOut, "leave-out", nil, "what to keep to yourself: notes, dates or both")
	return c
}

func runReport(cmd *cobra.Command, dirs []string, out string, o report.Options) error {
	p := &report.Page{Cautions: strings.Join(advice.AllCautions(), " ")}
	progress := counting(cmd.ErrOrStderr(), "logbooks")
	var problems []error
	for i, dir := range dirs {
		v, err := readPage(cmd, dir, o)
		problems = append(problems, err)
		p.Vehicles = append(p.Vehicles, v)
		if progress != nil && len(dirs) > 1 {
			progress(i+1, len(dirs))
		}
	}
	if err := errors.Join(problems...); err != nil {
		return err
	}
	if err := disk.SaveOutput(out, p.Write); err != nil {
		return err
	}
	fmt.Fprintf(cmd.OutOrStdout(), "%s; next: open it in a browser, or send it to the club\n", out)
	return nil
}

func readPage(cmd *cobra.Command, dir string, o report.Options) (*report.Vehicle, error) {
	r, rep, log, err := analyse(cmd, dir)
	if err != nil {
		return nil, err
	}
	if full, err := filepath.Abs(dir); err == nil {
		o.Folder = filepath.Base(full)
	}
	if o.Search, err = searchState(r, rep, log, dir); err != nil {
		return nil, err
	}
	return report.Read(r, rep, log, o), nil
}
