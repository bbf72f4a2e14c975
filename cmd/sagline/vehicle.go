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

	"sagline/predict/audit"
	"sagline/predict/drift"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/vehicle"
	"sagline/session/problem"
)

// knownKey is what is known of one number of vehicle.toml, as JSON.
type knownKey struct {
	Key    string            `json:"key"`
	Unit   string            `json:"unit"`
	File   string            `json:"file,omitempty"` // as written in vehicle.toml; "" if not stated
	Before findings.Estimate `json:"before"`         // 95 %, without the log
	Now    findings.Estimate `json:"now"`
	Left   float64           `json:"share_left"` // width of Now as a share of that before any dive
	From   string            `json:"from"`
	Beside []string          `json:"not_told_from,omitempty"`
	Source string            `json:"source"`

	origin vehicle.Origin
}

func newVehicle() *cobra.Command {
	var write bool
	c := &cobra.Command{
		Use: "vehicle [LOGBOOK]", Short: "What is known of the vehicle, key by key: from its file, and from its dives",
		Long: "vehicle prints every number of vehicle.toml that is not known exactly: what the file says, the range that it had before any\n" +
			"dive (of what the file leaves out: what is assumed), and the range that the dives leave. --write puts what they have narrowed\n" +
			"into vehicle.toml as ranges; comments stay. What the file gives as one number is never written over: where the dives differ\n" +
			"from it, sagline check says so, and the file or the vehicle is to be mended by hand.",
		Example: "  $ sagline vehicle examples/joint\n  $ sagline vehicle --json examples/joint", Args: upTo(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if write && wantsJSON(cmd) {
				return useError{errors.New("want one of --write and --json")}
			}
			dir := folder(args)
			v, log, r, err := readAndFit(cmd, dir)
			if err != nil {
				return err
			}
			keys := knownKeys(v.Next(log.Labels()), r)
			if write {
				return writeLearnt(cmd.OutOrStdout(), dir, keys, len(log.Dives))
			}
			return show(cmd, map[string]any{"schema": 1, "vehicle": v.Name, "dives": len(log.Dives), "keys": keys},
				func(w io.Writer) { printKnown(w, v, keys, len(log.Dives), dir) })
		},
	}
	c.Flags().Bool("json", false, "print the results as JSON")
	c.Flags().BoolVar(&write, "write", false, "write what the dives have narrowed into vehicle.toml")
	return c
}

// narrowed is the share of its range before any dive below which a key counts as learnt from the
// dives; common practice, no source.
const narrowed = 0.7

// knownKeys lists the numbers of v that are not known exactly.
func knownKeys(v *vehicle.Vehicle, r *fit.Result) []knownKey {
	file := map[string]string{}
	for _, k := range v.Keys() {
		if b := v.Belief(k.Name); b.Origin != vehicle.Prior {
			file[k.Name] = k.Value
		}
	}
	out := []knownKey{}
	for _, k := range audit.Keys(r, drift.Analyse(r).Statics) {
		if k.SD == 0 {
			continue
		}
		x := knownKey{Key: k.Path, Unit: v.Describe(k.Path).Unit, File: file[k.Path], Before: findings.Estimate{Value: k.Value, Low: k.Low, High: k.High}, Now: findings.Estimate(k.Now),
			Left: k.Left, From: k.Origin.String(), Beside: k.Beside, Source: k.Source, origin: k.Origin}
		if k.Left < narrowed {
			x.From = "dives"
		}
		out = append(out, x)
	}
	return out
}

// printKnown prints the keys as a table. Thrusters with equal values share a line.
func printKnown(w io.Writer, v *vehicle.Vehicle, keys []knownKey, dives int, dir string) {
	fmt.Fprintf(w, "%s, as its file and %s have it; ranges hold 95 %%\n\n", v.Name, problem.Count(dives, "dive"))
	table(w, func(w io.Writer) {
		fmt.Fprintln(w, "key\tunit\tfile\tbefore any dive\tnow\tleft\tfrom")
		for _, k := range mergeAlike(keys) {
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%.0f %%\t%s\n", k.Key, k.Unit, cmp.Or(k.File, "-"), ranged(k.Before), ranged(k.Now), 100*k.Left, k.From)
		}
	})
	if not := notSeparated(keys); len(not) > 0 {
		fmt.Fprintf(w, "\nThe readings do not tell %s:\nwhat was known least takes most of a change.\n", strings.Join(not, ", nor\n"))
	}
	if dives == 0 {
		fmt.Fprintf(w, "\nnext: sagline add %s writes the first dive down, and narrows this\n", shellWord(dir))
		return
	}
	fmt.Fprintf(w, "\nnext: sagline vehicle --write %s puts what the dives have narrowed into %s\n", shellWord(dir), vehicle.FileName)
}

// ofAll replaces a thruster's name in a key by *.
func ofAll(key string) string {
	if segments := strings.SplitN(key, ".", 3); segments[0] == "thruster" {
		return "thruster.*." + segments[2]
	}
	return key
}

// mergeAlike merges keys that are the same for all thrusters.
func mergeAlike(keys []knownKey) (out []knownKey) {
	differs := func(k knownKey) bool {
		return slices.ContainsFunc(keys, func(o knownKey) bool {
			return ofAll(o.Key) == ofAll(k.Key) && (o.File != k.File || o.Now != k.Now || o.Before != k.Before)
		})
	}
	done := map[string]bool{}
	for _, k := range keys {
		if !differs(k) {
			k.Key = ofAll(k.Key)
		}
		if !done[k.Key] {
			out = append(out, k)
		}
		done[k.Key] = true
	}
	return out
}

// notSeparated lists keys that the dives have narrowed but cannot tell apart from others.
func notSeparated(keys []knownKey) (out []string) {
	done := map[string]bool{}
	for _, k := range keys {
		if key := ofAll(k.Key); len(k.Beside) > 0 && k.Left < narrowed && !done[key] {
			out = append(out, key+" from "+strings.Join(k.Beside, " and "))
			done[key] = true
			for _, other := range k.Beside {
				done[other] = true
			}
		}
	}
	return out
}

// ranged writes a value with its range, to the digits that are known.
func ranged(e findings.Estimate) string {
	half := (e.High - e.Low) / 2
	return fmt.Sprintf("%s (%s to %s)", findings.Rounded(e.Value, half), findings.Rounded(e.Low, half), findings.Rounded(e.High, half))
}

// writeLearnt writes the keys that the dives have narrowed into vehicle.toml as ranges, and prints
// them.
func writeLearnt(w io.Writer, dir string, keys []knownKey, dives int) error {
	values := map[string]string{}
	for _, k := range keys {
		if k.From == "dives" && k.origin != vehicle.Given && k.Now.Low < k.Now.High {
			values[k.Key] = fmt.Sprintf("[%s, %s]", vehicle.Short(k.Now.Low), vehicle.Short(k.Now.High))
		}
	}
	path := filepath.Join(dir, vehicle.FileName)
	if len(values) == 0 {
		fmt.Fprintf(w, "%s: nothing to write: the dives have narrowed nothing that it leaves open\n", path)
		return nil
	}
	err := changeVehicle(dir, func(text []byte, path string) ([]byte, error) {
		return vehicle.Learn(text, path, values, problem.Count(dives, "dive"))
	})
	if err != nil {
		return err
	}
	for _, k := range keys {
		if s, ok := values[k.Key]; ok {
			fmt.Fprintln(w, strings.TrimSpace(fmt.Sprintf("%s = %s %s", k.Key, s, k.Unit)))
		}
	}
	fmt.Fprintf(w, "\n%s: %s written, with a comment each; what the owner had stated stays beside them\n", path, problem.Count(len(values), "range"))
	return nil
}
