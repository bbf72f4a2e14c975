package main

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"sagline/cmd/prompt"
	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/circumstances"
	"sagline/predict/drift"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/disk"
	"sagline/session/problem"
	"sagline/session/units"
)

// openLogbook reads a folder's two files and sets the vehicle's units to those that the command
// shows. The error has the problems of both files.
func openLogbook(cmd *cobra.Command, dir string) (*vehicle.Vehicle, *session.Log, error) {
	v, errV := vehicle.Open(dir)
	log, errL := openLog(dir, v, errV)
	if err := ofBoth(errV, errL); err != nil {
		return nil, nil, err
	}
	return v, log, showIn(cmd, dir, v)
}

// openLog reads a folder's log. If the log has problems and errV is nil, the error also lists the
// thrusters of readable lines that the vehicle lacks; for a log without problems the fit reports
// these.
func openLog(dir string, v *vehicle.Vehicle, errV error) (*session.Log, error) {
	log, err := session.OpenReadable(dir)
	if err == nil || log == nil || errV != nil {
		return log, err
	}
	out, m, sign := problem.Listed(err), predict.NewModel(v), make([]int8, len(v.Thrusters))
	for i := range log.Dives {
		for k := range log.Dives[i].Lines {
			circumstances.Signs(m, &log.Dives[i].Lines[k], sign, log.File, &out)
		}
	}
	slices.SortStableFunc(out, func(a, b *problem.Problem) int { return cmp.Compare(a.Line, b.Line) })
	return nil, out.Err()
}

// ofBoth joins the errors of a folder's two files. It keeps only one if they are the same, as for a
// missing folder.
func ofBoth(errV, errL error) error {
	if errV != nil && errL != nil && errV.Error() == errL.Error() {
		return errV
	}
	return errors.Join(errV, errL)
}

// onTether returns an error if the length paid out or the depth is beyond the tether's length. A depth
// that was not asked for is reduced to that length and to the tubes' guides.
func onTether(cmd *cobra.Command, v *vehicle.Vehicle, log *session.Log, depthM *float64, c predict.Condition) error {
	if err := withinTether(v, c.TetherOutM); err != nil {
		return err
	}
	length := cmp.Or(c.TetherOutM, v.MostTetherM())
	if !cmd.Flags().Changed("depth-m") {
		*depthM = advice.TypicalDepth(v, *depthM, length, predict.WaterDensity(c.WaterC, max(c.Salinity, log.SaltiestPSU())))
	}
	if *depthM > length {
		return useError{fmt.Errorf("--depth-m: found %g, with %.5g m of tether out", *depthM, length)}
	}
	return nil
}

// freshSaid returns the words that follow the salinity of --salinity-psu and say which water was
// assumed.
func freshSaid(cmd *cobra.Command, psu float64, log *session.Log) string {
	return advice.Fresh(psu, !cmd.Flags().Changed("salinity-psu"), log.NewestSalinityPSU())
}

// withinTether returns an error if more tether is paid out, in m, than there is.
func withinTether(v *vehicle.Vehicle, tetherOutM float64) error {
	if most := v.MostTetherM(); tetherOutM > most {
		return useError{fmt.Errorf("--tether-out-m: found %g, the tether has %.5g m", tetherOutM, most)}
	}
	return nil
}

// readAndFit reads and fits a folder.
func readAndFit(cmd *cobra.Command, dir string) (*vehicle.Vehicle, *session.Log, *fit.Result, error) {
	v, log, err := openLogbook(cmd, dir)
	if err != nil {
		return nil, nil, nil, err
	}
	r, err := fit.Fit(v, log)
	return v, log, r, err
}

// analyse fits a folder and finds what drifts in it.
func analyse(cmd *cobra.Command, dir string) (*fit.Result, *findings.Report, *session.Log, error) {
	_, log, r, err := readAndFit(cmd, dir)
	if err != nil {
		return nil, nil, nil, err
	}
	return r, drift.Analyse(r), log, nil
}

// noDives prints that a logbook has no dives yet.
func noDives(w io.Writer, vehicle, dir string) {
	fmt.Fprintf(w, "%s: no dives yet; next: sagline add %s writes the first one down\n", vehicle, shellWord(dir))
}

// fitAndPick fits the logbook of the arguments. It returns the index of the dive that they name or of
// the newest, −1 if there is none yet.
func fitAndPick(cmd *cobra.Command, args []string) (*fit.Result, int, error) {
	_, _, r, err := readAndFit(cmd, folder(args))
	switch {
	case err != nil:
		return nil, 0, err
	case len(args) < 2:
		return r, len(r.Dives) - 1, nil
	}
	which, err := diveAt(r, args[1])
	return r, which, err
}

// setKeys changes keys of a vehicle as given by --set.
func setKeys(v *vehicle.Vehicle, sets []string) error {
	for _, s := range sets {
		if err := v.Set(s); err != nil {
			return useError{err}
		}
	}
	return v.Check()
}

// follow changes in v what follows from keys that were set, and returns a remark on what that assumes.
func follow(before, v *vehicle.Vehicle) (remarks []string) {
	if assumes := advice.Follow(before, v); len(assumes) > 0 {
		remarks = append(remarks, "what is set assumes: "+strings.Join(assumes, "; "))
	}
	return remarks
}

// changeVehicle changes the text of a folder's vehicle.toml.
func changeVehicle(dir string, change func(text []byte, path string) ([]byte, error)) error {
	path := filepath.Join(dir, vehicle.FileName)
	return disk.Change(path, session.MaxBytes, func(text string) (string, error) {
		now, err := change([]byte(text), path)
		return string(now), err
	})
}

// wantsJSON reports whether a command was called with --json.
func wantsJSON(cmd *cobra.Command) bool {
	is, err := cmd.Flags().GetBool("json")
	return err == nil && is
}

// show prints results: document if --json is set, else what words writes.
func show(cmd *cobra.Command, document any, words func(w io.Writer)) error {
	if wantsJSON(cmd) {
		return printJSON(cmd.OutOrStdout(), document)
	}
	words(cmd.OutOrStdout())
	return nil
}

// printJSON writes one indented JSON document.
func printJSON(w io.Writer, v any) error {
	var b strings.Builder
	e := json.NewEncoder(&b)
	e.SetIndent("", " ")
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return err
	}
	if p, ok := w.(*printed); ok {
		p.width = 0 // lines of JSON are not wrapped
	}
	for line := range strings.Lines(b.String()) {
		if _, err := io.WriteString(w, escaped(line)); err != nil {
			return err
		}
	}
	return nil
}

// escaped replaces characters that could control a terminal by equivalent JSON escapes.
func escaped(line string) string {
	text := strings.TrimSuffix(line, "\n")
	if problem.Plain(text) {
		return line
	}
	var b strings.Builder
	for _, c := range text {
		if problem.Plain(string(c)) {
			b.WriteRune(c)
		} else {
			fmt.Fprintf(&b, `\u%04x`, c)
		}
	}
	return b.String() + "\n"
}

// table aligns tab-separated cells in columns. A table wider than the terminal is split into several
// tables, each with the first column.
func table(w io.Writer, rows func(w io.Writer)) { tableOf(w, 1, rows) }

// tableOf is table with keys first columns that identify a row.
func tableOf(w io.Writer, keys int, rows func(w io.Writer)) {
	var all strings.Builder
	rows(&all)
	var cells [][]string
	for line := range strings.Lines(all.String()) {
		cells = append(cells, strings.Split(strings.TrimRight(line, "\n"), "\t"))
	}
	fmt.Fprint(w, prompt.Columns(cells, keys, 2, widthOf(w)))
}

// batteryUsage is the usage of --battery.
const batteryUsage = "label of the battery, as in dives.csv (default: the newest dive's)"

// hasBattery returns an error if no dive has the label that --battery names.
func hasBattery(log *session.Log, label string) error {
	known := slices.DeleteFunc(log.Batteries(), func(s string) bool { return s == "" })
	switch {
	case label == "" || slices.Contains(known, label):
		return nil
	case len(known) == 0:
		return useError{fmt.Errorf("--battery: found %s, and %s names no battery", problem.Quote(label), log.File)}
	}
	return useError{fmt.Errorf("--battery: found %s, want a battery of %s%s", problem.Quote(label), log.File, problem.OfThese(label, known))}
}

// unitsAsked returns the value of --units, "" if it is not set.
func unitsAsked(cmd *cobra.Command) (units.System, error) {
	name, _ := cmd.Flags().GetString("units")
	keep, _ := cmd.Flags().GetBool("remember")
	s := units.System(name)
	switch {
	case name == "" && keep:
		return "", useError{fmt.Errorf("--remember: want --units %s beside it", strings.Join(units.Names, " or --units "))}
	case name != "" && !slices.Contains(units.Names, name):
		return "", useError{fmt.Errorf("--units: found %s, want %s%s", problem.Quote(name), strings.Join(units.Names, " or "), problem.Suggest(name, units.Names))}
	}
	return s, nil
}

// showIn sets the units in which a vehicle's results are shown: those of --units, else those of its
// file. With --json they are always metric, since names in JSON contain units.
func showIn(cmd *cobra.Command, dir string, v *vehicle.Vehicle) error {
	asked, err := unitsAsked(cmd)
	if err != nil {
		return err
	}
	if keep, _ := cmd.Flags().GetBool("remember"); keep {
		err := changeVehicle(dir, func(text []byte, path string) ([]byte, error) { return vehicle.Remember(text, path, asked) })
		if err != nil {
			return err
		}
	}
	if asked != "" {
		v.Units = asked
	}
	if wantsJSON(cmd) {
		v.Units = units.Metric
	}
	return nil
}
