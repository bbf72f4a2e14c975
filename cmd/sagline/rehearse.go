package main

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"sagline/predict/causes"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/problem"
	"sagline/session/units"
)

// rehearseOptions are the flags of rehearse and the values read from them.
type rehearseOptions struct {
	simulate.Rehearsal
	fault   string
	without []string // columns
}

func newRehearse() *cobra.Command {
	var o rehearseOptions
	c := &cobra.Command{
		Use: "rehearse [LOGBOOK]", Short: "How many dives until a growing fault would be noticed, with these instruments",
		Long: "Simulates seasons of the vehicle in which something goes wrong after twelve sound dives, with the readings\n" +
			"that the log has (those of its columns, before its first dive), and runs the fit and the trend on each. Every other season\n" +
			"has other physics than the fit assumes: windings that warm, a battery that recovers, meters a little off.",
		Example: "  $ sagline rehearse examples/joint --fault power_loop --size 0.02\n" +
			"  $ sagline rehearse examples/joint --fault power_loop --size 0.02 --without current_a,vehicle_v", Args: upTo(1),
		RunE: func(cmd *cobra.Command, args []string) error { return runRehearse(cmd, folder(args), &o) },
	}
	f := c.Flags()
	f.Bool("json", false, "print the results as JSON")
	f.BoolVar(&o.Step, "step", false, "all at once instead of a little each dive, as what never creeps (a meter, weights) goes always")
	f.StringVar(&o.fault, "fault", "power_loop", "what goes wrong: power_loop, thrust, drag, branch:NAME, instrument:current_a … (completion lists all)")
	f.Float64Var(&o.Size, "size", 0, "how much worse a dive: Ω, A, g, or a share (of insulation the logarithm); as such faults mostly grow, or come, if it is not given")
	f.IntVar(&o.Seasons, "seasons", 40, "how many seasons to simulate")
	f.StringSliceVar(&o.without, "without", nil, "columns that are not read, as current_a,vehicle_v")
	return c
}

func runRehearse(cmd *cobra.Command, dir string, o *rehearseOptions) error {
	v, log, err := openLogbook(cmd, dir)
	if err != nil {
		return err
	}
	v = v.Next(log.Labels())
	rows, names := rehearsable(v), faultNames(v, "")
	at := slices.Index(names, o.fault)
	if at < 0 {
		return useError{fmt.Errorf("--fault: found %s, want a fault%s", problem.Quote(o.fault), problem.OfThese(o.fault, names))}
	}
	if o.Seasons < 1 || o.Seasons > 10000 {
		return useError{fmt.Errorf("--seasons: found %d, want 1 to 10000", o.Seasons)}
	}
	o.Cause, o.Step, o.Seed, o.Without = rows[at], o.Step || rows[at].Ramp == 0, 1, log.NotToRead()
	if !cmd.Flags().Changed("size") {
		usual := &o.Cause.Amplitudes[0]
		if o.Size = usual.Ramp; o.Step {
			o.Size = usual.Step
		}
	}
	o.NoDepth = len(log.Dives) > 0 && log.DeepestM() == 0
	for _, name := range o.without {
		q, ok := session.QuantityOf(name)
		if !ok {
			return useError{fmt.Errorf("--without: found %s, want readings%s", problem.Quote(name), problem.OfThese(name, readingNames()))}
		}
		o.Without = append(o.Without, q)
	}
	res, err := o.Run(v, counting(cmd.ErrOrStderr(), "seasons"))
	if err != nil {
		return err
	}
	return show(cmd, map[string]any{"schema": 1, "vehicle": v.Name, "fault": o.fault, "size": o.Size, "step": o.Step, "result": res},
		func(w io.Writer) { printRehearsed(w, v, o, res) })
}

// rehearsable returns the causes that can be simulated with a size. A contact that comes and goes and
// a jam have none.
func rehearsable(v *vehicle.Vehicle) []causes.Cause {
	return slices.DeleteFunc(causes.Table(v), func(c causes.Cause) bool { return len(c.Amplitudes) == 0 })
}

func printRehearsed(w io.Writer, v *vehicle.Vehicle, o *rehearseOptions, r simulate.Rehearsed) {
	var without []string
	for _, q := range o.Without {
		without = append(without, q.Words())
	}
	how := "a dive"
	if o.Step {
		how = "at once"
	}
	by := v.Units.Plain(o.Size, o.Cause.Scale.Unit)
	if s := o.Cause.Scale; s.Factor && s.Unit != "" { // its size is a logarithm
		by = "a factor of " + units.Digits(math.Exp(o.Size), 2)
	}
	fmt.Fprintf(w, "%s, %s worse by %s %s, %s%s\n\n", v.Name, o.fault, by, how, problem.Count(r.Seasons, "simulated season"), strings.TrimSuffix(" without "+strings.Join(without, ", "), " without "))
	if r.Noticed == 0 {
		fmt.Fprintln(w, "no alarm names it within 24 dives: these readings tell too late or not at all what it is")
		fmt.Fprintf(w, "an alarm for something else in %d; one before anything was wrong in %d\n\nnext: take more readings, or sharper ones\n", r.Mistaken, r.False)
		return
	}
	fmt.Fprintf(w, "noticed in %d of %d within 24 dives: half of them by dive %.0f of the fault, nine in ten by dive %.0f\n", r.Noticed, r.Seasons, r.Median, r.Ninety)
	fmt.Fprintf(w, "taken for something else first, or at the same dive, in %d; an alarm before anything was wrong in %d\n", r.Mistaken, r.False)
	fmt.Fprintln(w, "\nnext: leave a reading out with --without, to see what it is worth")
}
