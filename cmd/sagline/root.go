package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"sagline/cmd/prompt"
	"sagline/plotting"
	"sagline/predict/advice"
)

// Exit codes.
const (
	exitDone    = 0
	exitData    = 1 // the data or the vehicle has a problem
	exitUse     = 2 // wrong use
	exitAlarmed = 3 // trend --strict found an open alarm
)

// version is set at release by -ldflags "-X main.version=…".
var version = "development"

// useError is a mistake in how a command was called.
type useError struct{ error }

// errAlarmed makes trend --strict exit with 3.
var errAlarmed = errors.New("alarms are open")

// errReported ends a command with 1 whose problems have been printed.
var errReported = errors.New("problems were reported")

// Run runs one command line and returns its exit code.
func Run(args []string, in io.Reader, out, errOut io.Writer) int {
	results, said := newPrinted(out), newPrinted(errOut)
	defer said.end()
	root := newRoot(results)
	root.SetArgs(append([]string{}, args...))
	root.SetIn(in)
	root.SetErr(said)
	err := root.Execute()
	results.end()
	err = cmp.Or(results.err, err)
	var use useError
	var format *plotting.FormatError
	switch {
	case err == nil:
		return exitDone
	case errors.Is(err, errAlarmed):
		return exitAlarmed
	case errors.Is(err, errReported):
		return exitData
	case errors.As(err, &use), errors.As(err, &format):
		fmt.Fprintf(said, "sagline: %v\nsee sagline --help\n", err)
		return exitUse
	}
	fmt.Fprintln(said, err)
	return exitData
}

// cautions are the basics as they stand below a text.
var cautions = strings.TrimSpace(strings.ReplaceAll(prompt.Wrap("", strings.Join(advice.Basics, " "), 78), "\n  ", "\n"))

// A maker makes a command, which help shows in a group.
type maker struct {
	group, name string
	make        func() *cobra.Command
}

func makers() []maker {
	return []maker{
		{"write", "new", newNew}, {"write", "add", newAdd}, {"write", "amend", newAmend}, {"write", "change", newChange}, {"write", "import", newImport},
		{"write", "check", newCheck},
		{"understand", "predict", newPredict}, {"understand", "compare", newCompare}, {"understand", "fit", newFit}, {"understand", "vehicle", newVehicle},
		{"decide", "trend", newTrend}, {"decide", "locate", newLocate}, {"decide", "rehearse", newRehearse}, {"decide", "trim", newTrim}, {"decide", "whatif", newWhatif},
		{"decide", "station", newStation},
		{"show", "report", newReport}, {"show", "plot", newPlot}, {"show", "sheet", newSheet}, {"show", "demo", newDemo},
		{"shell", "man", newMan},
	}
}

// newRoot is the program's command with all of those below it. out is where
// they print, which those that the library brings along must know as they are
// made.
func newRoot(out io.Writer) *cobra.Command {
	root := &cobra.Command{
		Use:   "sagline",
		Short: "What a tethered vehicle's readings should be, and which loss explains what they were",
		Long: "sagline keeps the log of a small tethered vehicle honest: it predicts what voltmeter,\n" +
			"clamp meter and stopwatch should read, finds the loss that explains what they did read,\n" +
			"and says what drifts from dive to dive.\n\n" + cautions,
		Example: "  $ sagline demo\n  $ sagline --version",
		Version: version, SilenceErrors: true, SilenceUsage: true,
	}
	root.SetOut(out)
	root.PersistentFlags().String("units", "", "show results in metric or imperial units (default: units of vehicle.toml)")
	root.PersistentFlags().Bool("remember", false, "keep --units in vehicle.toml for next time")
	root.PersistentPreRunE = checkFlagLimits
	root.SetFlagErrorFunc(wrongFlag)
	root.AddGroup(&cobra.Group{ID: "write", Title: "Write down:"}, &cobra.Group{ID: "understand", Title: "Understand:"},
		&cobra.Group{ID: "decide", Title: "Decide:"}, &cobra.Group{ID: "show", Title: "Show:"},
		&cobra.Group{ID: "shell", Title: "Around it:"})
	for _, m := range makers() {
		c := m.make()
		c.GroupID = m.group
		root.AddCommand(c)
	}
	root.Args = cobra.ArbitraryArgs // so that an unknown command comes to RunE
	root.RunE = func(cmd *cobra.Command, args []string) error {
		if len(args) > 0 {
			return unknownCommand(cmd, args[0])
		}
		return cmd.Help()
	}
	completeAll(root)
	shellCommands(root)
	return root
}

// upTo allows at most n arguments.
func upTo(n int) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) > n {
			return useError{fmt.Errorf("%s: %d arguments, want at most %d", cmd.Name(), len(args), n)}
		}
		return nil
	}
}

// folder is the logbook named by the arguments, the current one without any.
func folder(args []string) string {
	if len(args) == 0 {
		return "."
	}
	return args[0]
}
