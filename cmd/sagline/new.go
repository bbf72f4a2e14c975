package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"sagline/cmd/prompt"
	"sagline/plotting"
	"sagline/predict"
	"sagline/predict/forecast"
	"sagline/predict/newvehicle"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/disk"
)

// newOptions are the flags of new.
type newOptions struct {
	priors, plain bool
	set           []string
}

func newNew() *cobra.Command {
	var o newOptions
	cmd := &cobra.Command{
		Use: "new FOLDER", Short: "Begin a logbook: asks what the vehicle is made of, and says what it should read",
		Long: "At a terminal new asks what the vehicle is made of, a question at a time: Enter alone, not known, is always an answer but to the\n" +
			"battery's label, the tether's length and size, and the thrusters' names. It writes a vehicle.toml that has every key there is, each\n" +
			"with what it is, how to find it out and what is assumed where it is left out, and an empty dives.csv; then it says what the first\n" +
			"dive should read, and what would narrow that most. Without a terminal it writes the files for an example vehicle, changed by --set.",
		Example: "  $ sagline new pond --set battery.nominal_v=12.8 --set tether.length_m=25\n  $ sagline new --priors", Args: upTo(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			switch {
			case o.priors && len(args) == 0:
				rows := vehicle.Example().Table()
				return show(cmd, map[string]any{"schema": 1, "keys": rows}, func(w io.Writer) { printPriors(w, rows) })
			case o.priors || len(args) != 1:
				return useError{fmt.Errorf("new: want the folder to make, or --priors")}
			}
			return makeLogbook(cmd, args[0], &o)
		},
	}
	f := cmd.Flags()
	f.BoolVar(&o.priors, "priors", false, "print every key with what is assumed of it where it is left out")
	f.Bool("json", false, "with --priors: as JSON")
	f.BoolVar(&o.plain, "plain", false, "ask in plain lines of text, as for a screen reader")
	f.StringArrayVar(&o.set, "set", nil, "ask nothing: the example vehicle with this key changed, as tether.length_m=20; may be repeated")
	return cmd
}

// makeLogbook writes a logbook. At a terminal it first asks about the vehicle.
func makeLogbook(cmd *cobra.Command, dir string, o *newOptions) error {
	_, errV := os.Lstat(filepath.Join(dir, vehicle.FileName))
	_, errL := os.Lstat(filepath.Join(dir, session.FileName))
	if errV == nil && errors.Is(errL, fs.ErrNotExist) && len(o.set) == 0 {
		return beginLog(cmd, dir)
	}
	logged := errL == nil && errors.Is(errV, fs.ErrNotExist)
	if err := vacant(dir, logged); err != nil {
		return err
	}
	v, columns, asked := vehicle.Starter(), simulate.Columns, o.plain || terminal(cmd.InOrStdin()) && len(o.set) == 0
	if asked {
		d := newvehicle.Begin(filepath.Base(dir))
		err := askVehicle(cmd, d, o.plain, "Enter alone: not known, and left out; ? how to find out; back: the question before. "+
			"A range is an answer too, as 4 to 6. All of it can be changed in "+vehicle.FileName+" later.")
		if err == nil {
			v, columns, err = d.Build()
		}
		if err != nil {
			return err
		}
	}
	if err := setKeys(v, o.set); err != nil {
		return err
	}
	log := noLines(columns)
	if logged {
		log = nil // the folder has a log
	}
	if err := writeLogbook(cmd, dir, v.Text(), log); err != nil {
		return err
	}
	w := cmd.OutOrStdout()
	if !asked {
		fmt.Fprintf(w, "%s: edit %s to your vehicle; next: sagline check %s\n", dir, vehicle.FileName, shellWord(dir))
		return nil
	}
	v, err := vehicle.Open(dir)
	if err == nil {
		err = showIn(cmd, dir, v)
	}
	if err != nil {
		return err
	}
	fmt.Fprintln(w)
	printFirst(w, v)
	fmt.Fprintf(w, "\n%s written; next: sagline predict %s, for what must hold before it is switched on\n", dir, shellWord(dir))
	return nil
}

// askVehicle prints opening and asks all questions of a draft.
func askVehicle(cmd *cobra.Command, d *newvehicle.Draft, plain bool, opening string) error {
	a, err := asker(cmd.InOrStdin(), cmd.OutOrStdout(), plain)
	if err != nil {
		return err
	}
	defer a.Close()
	err = a.Vehicle(d, opening)
	if errors.Is(err, prompt.ErrInterrupted) {
		err = errors.New("broken off, nothing is written")
	}
	return err
}

// noLines returns a function that writes a log with columns and no lines.
func noLines(columns []string) func(w io.Writer) error {
	return func(w io.Writer) error { return session.Write(w, columns, &session.Log{}) }
}

// beginLog begins the log of a vehicle whose file exists.
func beginLog(cmd *cobra.Command, dir string) error {
	v, err := vehicle.Open(dir)
	if err != nil {
		return err
	}
	if err := disk.Save(filepath.Join(dir, session.FileName), noLines(simulate.Columns)); err != nil {
		return err
	}
	fmt.Fprintf(cmd.OutOrStdout(), "%s: an empty log for %s, whose %s was there; next: sagline check %s\n", filepath.Join(dir, session.FileName), v.Name, vehicle.FileName, shellWord(dir))
	return nil
}

// printFirst prints the readings expected on the first dive, and which measurement would narrow them
// most.
func printFirst(w io.Writer, v *vehicle.Vehicle) {
	m, f := predict.NewModel(v), forecast.AsBuilt(v)
	p := m.NewParams()
	p[predict.OpenCircuitV] = v.Battery.RestV()
	c := predict.Condition{Electrical: true, TetherOutM: v.Tether.LengthM, WaterC: 15}
	points := pointsOf(m, c, p, f, m.Combinations(), 0)
	fmt.Fprintf(w, "%s should read on its first dive, 19 times in 20 (at the surface, the tether out, fresh water):\n\n", plotting.SafeText(v.Name, 60))
	table(w, func(w io.Writer) { pointRows(w, v, points) })
	printNarrowing(w, v, c)
}

// vacant returns an error if a folder has a file that would be written. If logged is true it may
// have a log.
func vacant(dir string, logged bool) error {
	for _, name := range []string{vehicle.FileName, session.FileName} {
		if logged && name == session.FileName {
			continue
		}
		if _, err := os.Lstat(filepath.Join(dir, name)); err == nil {
			return fmt.Errorf("%s: exists, not overwritten", filepath.Join(dir, name))
		}
	}
	return nil
}

// printPriors prints the table of keys.
func printPriors(w io.Writer, rows []vehicle.Row) {
	table(w, func(w io.Writer) {
		fmt.Fprintln(w, "key\tunit\ttypical\tfrom\tto (95 %)\twhat it is")
		for _, r := range rows {
			typical, low, high := "-", "-", "-"
			switch {
			case r.Required:
				typical = "needed"
			case r.Word != "":
				typical = r.Word
			case r.Typical != nil:
				typical, low, high = vehicle.Short(*r.Typical), vehicle.Short(*r.Low), vehicle.Short(*r.High)
			}
			if low == high {
				low, high = "-", "-"
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\n", r.Key, r.Unit, typical, low, high, r.Is)
		}
	})
	fmt.Fprintln(w, "\ntypical: what is assumed where the key is left out, here of a 12 V battery and 20 m of tether; - where there is none of it")
	fmt.Fprintln(w, "how to find each out, and where its prior comes from: sagline new --priors --json, or the comments of the file that new writes")
}

// writeLogbook makes a folder with a vehicle.toml, in which it keeps --units, and a log unless log is
// nil. It returns an error if the folder has a file that would be written.
func writeLogbook(cmd *cobra.Command, dir string, text []byte, log func(io.Writer) error) error {
	s, err := unitsAsked(cmd)
	if err == nil && s != "" {
		text, err = vehicle.Remember(text, vehicle.FileName, s)
	}
	if err != nil {
		return err
	}
	if err := vacant(dir, log == nil); err != nil {
		return err
	}
	if err := disk.MakeFolder(dir); err != nil {
		return err
	}
	if err := disk.SaveText(filepath.Join(dir, vehicle.FileName), text); err != nil {
		return err
	}
	if log == nil {
		return nil
	}
	return disk.Save(filepath.Join(dir, session.FileName), log)
}
