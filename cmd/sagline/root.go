package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"sagline/cmd/prompt"
	"sagline/plotting"
	"sagline/predict/advice"
	"sagline/session/problem"
	"sagline/session/units"
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

// useError is an error in the use of the command line.
type useError struct{ error }

// errAlarmed makes trend --strict exit with 3.
var errAlarmed = errors.New("alarms are open")

// errReported makes a command exit with 1 after it has printed its problems.
var errReported = errors.New("problems were reported")

// Run runs one command line and returns its exit code.
func Run(args []string, in io.Reader, out, errOut io.Writer) int {
	results, said := newPrinted(out), newPrinted(errOut)
	defer said.end()
	root := newRoot(results)
	root.SetArgs(append([]string{}, args...))
	root.SetIn(in)
	root.SetErr(said)
	used, err := root.ExecuteC()
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
		fmt.Fprintf(said, "sagline: %v\nsee %s --help\n", err, used.CommandPath())
		return exitUse
	}
	fmt.Fprintln(said, err)
	return exitData
}

// cautions are the basics of safety, wrapped for the help.
var cautions = strings.TrimSpace(strings.ReplaceAll(prompt.Wrap("", strings.Join(advice.Basics, " "), 78), "\n  ", "\n"))

// A maker makes a command; group is where the help lists it.
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

// newRoot makes the root command with its subcommands. out is their output, which the commands that
// cobra adds need when they are made.
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
	root.Args = cobra.ArbitraryArgs // so that RunE gets unknown commands
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

// folder returns the logbook's folder, the first argument; without arguments the current folder.
func folder(args []string) string {
	if len(args) == 0 {
		return "."
	}
	return args[0]
}

// unknownCommand returns an error that names the nearest command.
func unknownCommand(root *cobra.Command, name string) error {
	var known []string
	for _, c := range root.Commands() {
		if c.IsAvailableCommand() || c.Name() == "help" {
			known = append(known, c.Name())
		}
	}
	return useError{fmt.Errorf("unknown command %s%s", problem.Quote(name), problem.Suggest(name, known))}
}

// wantOf words the values that a flag takes, by pflag's name for its type.
var wantOf = map[string]string{"float64": "a number, as 3.5", "float64Slice": "numbers joined by commas, as 10,20.5", "int": "a whole number", "bool": "true or false",
	"stringToString": "column=text"}

// wrongFlag words the error for a wrong value of a flag. For an unknown flag it names the nearest
// known one.
func wrongFlag(cmd *cobra.Command, err error) error {
	var value *pflag.InvalidValueError
	if errors.As(err, &value) && wantOf[value.GetFlag().Value.Type()] != "" {
		return useError{fmt.Errorf("--%s: found %q, want %s", value.GetFlag().Name, value.GetValue(), wantOf[value.GetFlag().Value.Type()])}
	}
	var unknown *pflag.NotExistError
	if !errors.As(err, &unknown) || unknown.GetSpecifiedShortnames() != "" {
		return useError{fmt.Errorf("%s: %w", cmd.Name(), err)}
	}
	var known []string
	add := func(f *pflag.Flag) { known = append(known, "--"+f.Name) }
	cmd.LocalFlags().VisitAll(add)
	cmd.InheritedFlags().VisitAll(add)
	return useError{fmt.Errorf("%s: %w%s", cmd.Name(), err, problem.Suggest("--"+unknown.GetSpecifiedName(), known))}
}

// flagLimits bounds the numbers of flags, the same in all commands, in the unit that the flag's name
// ends in.
var flagLimits = map[string]struct{ lowest, highest float64 }{
	"open-circuit-v": {0.1, 75}, // a battery of up to 60 V nominal, being charged
	"depth-m":        {0, 300},
	"tether-out-m":   {0.1, 2000},
	"offset-m":       {-2000, 2000},
	"current-m-s":    {0.001, strongest},
	"water-c":        {-3, 45},
	"salinity-psu":   {0, 45},
	"want-g":         {-1e6, 1e6},
	"copper-share":   {0.001, 1},
	"size":           {1e-6, 1000},
	"lengths-m":      {0.5, 1000},
	"batteries-v":    {2, advice.HighestV},
	"want-m-s":       {0, strongest},
	"want-vehicle-v": {0, 75},
	"want-fuse-a":    {0.1, 500},
}

// checkFlagLimits returns an error for flags with NaN, infinite or impossible numbers.
func checkFlagLimits(cmd *cobra.Command, _ []string) (err error) {
	cmd.Flags().Visit(func(f *pflag.Flag) {
		s, ok := flagLimits[f.Name]
		texts := []string{f.Value.String()}
		if list, many := f.Value.(pflag.SliceValue); many {
			texts = list.GetSlice()
		} else if f.Value.Type() != "float64" {
			return
		}
		for _, text := range texts {
			x, _ := strconv.ParseFloat(text, 64)
			if ok && err == nil && !(x >= s.lowest && x <= s.highest) {
				err = useError{fmt.Errorf("--%s: found %s, want %s to %s", f.Name, units.Digits(x, 15), units.Digits(s.lowest, 6), units.Digits(s.highest, 6))}
			}
		}
	})
	return err
}
