package main

import (
	"cmp"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"github.com/spf13/cobra"

	"sagline/plotting"
	"sagline/predict/advice"
	"sagline/predict/causes"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/units"
)

// completeAll adds shell completions to every command: for arguments by its usage line, for flags by
// their names.
func completeAll(root *cobra.Command) {
	for _, c := range root.Commands() {
		if c.ValidArgsFunction == nil {
			c.ValidArgsFunction = begunWith(completeArgs(c.Use))
		}
		for name, complete := range completions {
			if c.Flags().Lookup(name) != nil {
				_ = c.RegisterFlagCompletionFunc(name, begunWith(complete))
			}
		}
	}
	_ = root.RegisterFlagCompletionFunc("units", words(units.Names...))
}

// shellCommands adds a group and an example to the commands that cobra adds.
func shellCommands(root *cobra.Command) {
	root.SetHelpCommandGroupID("shell")
	root.SetCompletionCommandGroupID("shell")
	root.InitDefaultHelpCmd()
	root.InitDefaultCompletionCmd()
	for _, c := range root.Commands() {
		switch c.Name() {
		case "help":
			c.Example = "  $ sagline help trend"
			c.Run, c.RunE = nil, func(_ *cobra.Command, args []string) error {
				of, rest, err := root.Find(args)
				switch {
				case err != nil:
					return useError{err}
				case len(rest) > 0:
					return unknownCommand(of, rest[0])
				}
				return of.Help()
			}
		case "completion":
			c.Example = "  $ sagline completion bash"
			c.Args, c.RunE = cobra.ArbitraryArgs, root.RunE
			for _, shell := range c.Commands() {
				shell.Example, shell.Args = "  $ sagline completion "+shell.Name(), upTo(0)
			}
		}
	}
}

// completer completes the last word of a command line.
type completer = cobra.CompletionFunc

// completions are the completers of flags, by name.
var completions = map[string]completer{
	"cell": cellNames,
	"from": func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
		return diveLabels(folder(args)), cobra.ShellCompDirectiveNoFileComp
	},
	"format":    words(plotting.Formats...),
	"thrusters": ofVehicle(drivesBegun),
	"fault":     ofVehicle(faultNames),
	"for":       words(plotting.Uses()...),
	"leave-out": listed(leavable),
	"quantity":  ofVehicle(trendNames),
	"set":       ofVehicle(keyNames),
	"sweep":     ofVehicle(keyNames),
	"without":   listed(readingNames()),
	"lights":    words("on", "off"),
	"held":      words("yes", "no"),
	"serviced":  words(session.Serviceable...),

	"batteries-v": ofVehicle(batteryLabels),
	"want-fuse-a": words(plain(advice.FuseSizes)...),
}

// begunWith drops completions that do not begin with the typed word, which not every shell does, and
// those with characters that a shell may interpret: names come from files that others wrote, and
// some shells evaluate completions.
func begunWith(complete completer) completer {
	return func(c *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
		all, what := complete(c, args, begun)
		var out []string
		for _, s := range all {
			word, description, described := strings.Cut(s, "\t")
			if !strings.HasPrefix(word, begun) || strings.HasPrefix(word, "=") || strings.Map(plainRune, word) != word {
				continue
			}
			if described {
				word = cobra.CompletionWithDesc(word, strings.Map(plainRune, description))
			}
			out = append(out, word)
		}
		return out, what
	}
}

// plainRune returns a character that has no special meaning in any shell unchanged, and a blank for
// any other.
func plainRune(r rune) rune {
	if unicode.IsLetter(r) || unicode.IsDigit(r) || strings.ContainsRune(" _-+.,:=/%@°Ω·²³", r) {
		return r
	}
	return ' '
}

func words(list ...string) completer {
	return cobra.FixedCompletions(list, cobra.ShellCompDirectiveNoFileComp)
}

// cellNames completes the names of columns, each followed by =.
func cellNames(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	out := session.ColumnNames()
	for i := range out {
		out[i] += "="
	}
	return out, cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveNoSpace
}

// completeArgs completes each argument by its placeholder in the usage line: LOGBOOK, the DIVE
// of the logbook before it, FOLDER or FILE. A placeholder with … repeats.
func completeArgs(use string) completer {
	placeholders := strings.Fields(use)[1:]
	return func(_ *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
		at := len(args)
		if n := len(placeholders); n > 0 && at >= n && strings.Contains(placeholders[n-1], "…") {
			at = n - 1
		}
		if at >= len(placeholders) {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		switch placeholder := placeholders[at]; {
		case strings.Contains(placeholder, "LOGBOOK"):
			return logbooks(begun)
		case strings.Contains(placeholder, "DIVE") && at > 0:
			return diveLabels(args[at-1]), cobra.ShellCompDirectiveNoFileComp
		case strings.Contains(placeholder, "FOLDER"):
			return nil, cobra.ShellCompDirectiveFilterDirs
		}
		return nil, cobra.ShellCompDirectiveDefault
	}
}

// logbooks lists the logbooks whose paths begin with begun, in its folder or one level below. If
// there are none, the shell offers folders.
func logbooks(begun string) ([]string, cobra.ShellCompDirective) {
	parent, start := filepath.Split(begun)
	out := logbooksIn(parent, start, true)
	if len(out) == 0 {
		return nil, cobra.ShellCompDirectiveFilterDirs
	}
	return out, cobra.ShellCompDirectiveNoFileComp
}

// logbooksIn lists the logbooks in a folder whose names begin with start, without hidden ones. If
// below is true it also lists those in the folder's other subfolders.
func logbooksIn(parent, start string, below bool) (out []string) {
	entries, _ := os.ReadDir(cmp.Or(parent, "."))
	for _, e := range entries {
		switch path := parent + e.Name(); {
		case !e.IsDir() || strings.HasPrefix(e.Name(), ".") || !strings.HasPrefix(e.Name(), start):
		case isLogbook(path):
			out = append(out, path)
		case below:
			out = append(out, logbooksIn(path+string(filepath.Separator), "", false)...)
		}
	}
	return out
}

func isLogbook(dir string) bool {
	for _, name := range []string{vehicle.FileName, session.FileName} {
		if st, err := os.Stat(filepath.Join(dir, name)); err != nil || !st.Mode().IsRegular() {
			return false
		}
	}
	return true
}

// diveLabels lists a log's dives, newest first, each with its day.
func diveLabels(dir string) []string {
	log, err := session.Open(dir)
	if err != nil {
		return nil
	}
	var out []string
	for i := range log.Dives {
		label := log.Dives[i].Label
		if day := log.Dives[i].Day(); day != "" {
			label = cobra.CompletionWithDesc(label, day)
		}
		out = append(out, label)
	}
	slices.Reverse(out)
	return out
}

// ofVehicle completes names of the vehicle of the logbook on the command line or, without one, of
// that in the current folder.
func ofVehicle(names func(v *vehicle.Vehicle, begun string) []string) completer {
	return func(_ *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
		v, err := vehicle.Open(folder(args))
		if err != nil {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		return names(v, begun), cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveNoSpace
	}
}

// drivesBegun completes the last of several thrusters joined by +.
func drivesBegun(v *vehicle.Vehicle, begun string) []string {
	before := begun[:strings.LastIndex(begun, "+")+1]
	if before != "" && strings.HasPrefix(begun, before+" ") {
		before += " "
	}
	var out []string
	for _, t := range v.Thrusters {
		if strings.Contains(before, t.Name) {
			continue
		}
		out = append(out, before+t.Name, before+t.Reversed())
	}
	if before == "" {
		out = append(out, "off")
	}
	return out
}

// batteryLabels lists the voltages of one or more of the vehicle's batteries in series.
func batteryLabels(v *vehicle.Vehicle, _ string) []string {
	var out []float64
	for x := v.Battery.NominalV; x <= advice.HighestV; x += v.Battery.NominalV {
		out = append(out, x)
	}
	return plain(out)
}

// plain writes numbers as a person types them.
func plain(numbers []float64) (out []string) {
	for _, x := range numbers {
		out = append(out, strconv.FormatFloat(x, 'f', -1, 64))
	}
	return out
}

func faultNames(v *vehicle.Vehicle, _ string) (out []string) {
	for _, c := range rehearsable(v) {
		out = append(out, c.Name)
	}
	return out
}

func trendNames(v *vehicle.Vehicle, _ string) (out []string) {
	for _, c := range causes.Table(v) {
		if c.Tracked {
			out = append(out, cobra.CompletionWithDesc(c.Quantity, c.Words))
		}
	}
	return out
}

// keyNames lists the keys that have one value, with their meaning and present value.
func keyNames(v *vehicle.Vehicle, _ string) (out []string) {
	for _, k := range v.Keys() {
		now := ", not stated"
		if k.Value != "" {
			now = ", now " + k.Value
			if x, err := strconv.ParseFloat(k.Value, 64); err == nil { // a value computed from other keys has all its digits
				now = ", now " + strconv.FormatFloat(x, 'g', 6, 64)
			}
		}
		out = append(out, cobra.CompletionWithDesc(k.Name+"=", k.Is+now))
	}
	return out
}

// readingNames lists the columns of dives.csv that hold readings.
func readingNames() (out []string) {
	for _, c := range session.Columns() {
		if _, ok := session.QuantityOf(c.Name); ok {
			out = append(out, c.Name)
		}
	}
	return out
}

// listed completes the last of several names joined by commas.
func listed(names []string) completer {
	return func(_ *cobra.Command, _ []string, begun string) ([]string, cobra.ShellCompDirective) {
		before := begun[:strings.LastIndex(begun, ",")+1]
		var out []string
		for _, n := range names {
			if !slices.Contains(strings.Split(before, ","), n) {
				out = append(out, before+n)
			}
		}
		return out, cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveNoSpace
	}
}
