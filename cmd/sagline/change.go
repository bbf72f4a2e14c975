package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/causes"
	"sagline/predict/fit"
	"sagline/predict/newdive"
	"sagline/predict/newvehicle"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/problem"
	"sagline/session/quantity"
	"sagline/session/units"
)

// changeOptions are the flags of change.
type changeOptions struct {
	plain bool
	from  string
	set   []string
}

// rebuilt holds what change wrote, as JSON.
type rebuilt struct {
	Schema  int               `json:"schema"`
	Vehicle string            `json:"vehicle"`
	Dive    string            `json:"dive"` // first dive with the change
	Logged  bool              `json:"logged"`
	Changed []vehicle.Rebuilt `json:"changed"`
	Anew    []string          `json:"judged_anew"` // quantities whose sound level is set by the next dives
	Remarks []string          `json:"remarks"`

	next string // label that the next dive would get
}

func newChange() *cobra.Command {
	var o changeOptions
	c := &cobra.Command{
		Use: "change [LOGBOOK]", Short: "A rebuilt vehicle keeps its log: what was rebuilt, from which dive on",
		Long: "change writes a [[change]] into vehicle.toml: from that dive on what was rebuilt is judged anew, what was not goes on, and\n" +
			"the dives before keep the vehicle that they were made with. At a terminal it asks what was rebuilt, from which dive on and\n" +
			"the new values: Enter leaves one as it was, unknown is an answer where the key may be left out. With --set it asks nothing.\n" +
			"A part that was replaced by its like is no change: write it under serviced in dives.csv.",
		Example: "  $ sagline change examples/joint --set tether.length_m=45 --set tether.weight_g_m=unknown\n" +
			"  $ sagline change examples/joint --from 25 --set thruster.port.prop_pitch_mm=50 --json", Args: upTo(1),
		RunE: func(cmd *cobra.Command, args []string) error { return runChange(cmd, folder(args), &o) },
	}
	f := c.Flags()
	f.Bool("json", false, "print what was written as JSON")
	f.BoolVar(&o.plain, "plain", false, "ask in plain lines of text, as for a screen reader")
	f.StringVar(&o.from, "from", "", "the first dive of the rebuilt vehicle (default: the next dive)")
	f.StringArrayVar(&o.set, "set", nil, "a key of vehicle.toml and its new value, as tether.length_m=45, or with its unit, or unknown; may be repeated")
	return c
}

func runChange(cmd *cobra.Command, dir string, o *changeOptions) error {
	v, log, err := openLogbook(cmd, dir)
	if err != nil {
		return err
	}
	labels, next := log.Labels(), "1"
	if n := len(labels); n > 0 {
		next = newdive.After(log, labels[n-1])
	}
	dive, sets := cmp.Or(o.from, next), o.set
	if err := vehicle.MayBeDive(dive, labels); err != nil {
		return useError{fmt.Errorf("--from: %w", err)}
	}
	switch {
	case len(sets) > 0:
	case o.plain || terminal(cmd.InOrStdin()):
		d := newvehicle.Rebuilt(v, labels, dive)
		err := askVehicle(cmd, d, o.plain, "Enter alone: as it was; "+vehicle.Unknown+": the new one is not known; "+
			"? how to find out; back: the question before; done: the rest is as it was.")
		if err != nil {
			return err
		}
		dive, sets = d.From, d.Sets()
	default:
		return useError{errors.New("change: want --set KEY=VALUE, or a terminal to ask at")}
	}
	out := &rebuilt{Schema: 1, Vehicle: v.Name, Dive: dive, Logged: slices.Contains(labels, dive), next: next}
	err = changeVehicle(dir, func(text []byte, path string) ([]byte, error) {
		now, changed, err := vehicle.Rebuild(text, path, dive, labels, sets)
		var inFile *problem.Problem
		if out.Changed = changed; err != nil && !errors.As(err, &inFile) {
			err = useError{err}
		}
		return now, err
	})
	if err != nil {
		return err
	}
	out.Anew, out.Remarks = judgedAnew(v, log, out.Changed), oldTests(v, dive, sets)
	return show(cmd, out, func(w io.Writer) { printChange(w, out, dir) })
}

// judgedAnew lists the quantities whose sound level starts anew after a rebuild.
func judgedAnew(v *vehicle.Vehicle, log *session.Log, changed []vehicle.Rebuilt) []string {
	var paths []string
	for _, c := range changed {
		paths = append(paths, c.Key)
	}
	params, out := fit.Anew(v, paths), []string{}
	for _, c := range causes.Table(v) {
		unread := c.Param() == predict.LogInsulation && slices.Contains(log.Unread(), quantity.Insulation)
		ofVehicle := c.Tracked || c.Kind == causes.Vehicle && c.Of != ""
		if ofVehicle && slices.Contains(params, c.Param()) && !unread {
			out = append(out, c.Words)
		}
	}
	return out
}

// oldTests returns remarks on thrusters that get another pitch and keep the static test of the propeller
// before.
func oldTests(v *vehicle.Vehicle, dive string, sets []string) []string {
	as, with := v.Clone(), v.Clone()
	for _, w := range []*vehicle.Vehicle{as, with} {
		if setKeys(w, sets) != nil {
			return []string{}
		}
	}
	advice.Follow(v, with)
	out := []string{}
	for _, i := range advice.Repitched(v, as) {
		name, t := v.Thrusters[i].Name, &with.Thrusters[i]
		out = append(out, fmt.Sprintf("the static test of %s is still that of the propeller before, and so are currents and margins: by its pitch about %s A at %s V and %s; say what a test reads, or that, with sagline change --from %q --set thruster.%s.test_a=…",
			name, units.Digits(t.TestA, 3), units.Digits(t.TestV, 3), v.Units.Show(t.TestN, "N", 1), dive, name))
	}
	return out
}

func printChange(w io.Writer, r *rebuilt, dir string) {
	fmt.Fprintf(w, "%s: a [[change]] written, from dive %s on\n", filepath.Join(dir, vehicle.FileName), r.Dive)
	for _, c := range r.Changed {
		before := ""
		if c.Before != "" {
			before = ", was " + c.Before
		}
		fmt.Fprintf(w, "  %s = %s%s\n", c.Key, c.Now, before)
	}
	if len(r.Anew) > 0 {
		fmt.Fprintf(w, "judged anew from there: %s; all else goes on\n", strings.Join(r.Anew, ", "))
	} else {
		fmt.Fprintln(w, "no trend begins anew; all goes on")
	}
	printEach(w, "note:", r.Remarks)
	if !r.Logged {
		would := ""
		if r.Dive != r.next {
			would = ", whose next would be " + r.next
		}
		fmt.Fprintf(w, "dive %s is not in the log yet%s: give it that label when you write it down\n", r.Dive, would)
	}
	fmt.Fprintf(w, "next: sagline predict %s, for what it should read on the next dive and whether its margins are met\n", shellWord(dir))
}
