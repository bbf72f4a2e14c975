package main

import (
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/disk"
	"sagline/session/problem"
	"sagline/session/units"
)

// unitsAsked is what --units says, "" without it.
func unitsAsked(cmd *cobra.Command) (units.System, error) {
	name, _ := cmd.Flags().GetString("units")
	keep, _ := cmd.Flags().GetBool("remember")
	s := units.System(name)
	switch {
	case name == "" && keep:
		return "", useError{fmt.Errorf("--remember: want --units %s beside it", strings.Join(units.Names, " or --units "))}
	case name != "" && !s.Valid():
		return "", useError{fmt.Errorf("--units: found %s, want %s%s", problem.Quote(name), strings.Join(units.Names, " or "), problem.Suggest(name, units.Names))}
	}
	return s, nil
}

// showIn sets the units that a vehicle's results are shown in: as --units
// says, else as its file remembers; with --json always metric, since the names
// there carry their unit.
func showIn(cmd *cobra.Command, dir string, v *vehicle.Vehicle) error {
	asked, err := unitsAsked(cmd)
	if err != nil {
		return err
	}
	if keep, _ := cmd.Flags().GetBool("remember"); keep {
		if err := rememberUnits(dir, asked); err != nil {
			return err
		}
	}
	if asked != "" {
		v.Units = asked
	}
	if asJSON, err := cmd.Flags().GetBool("json"); err == nil && asJSON {
		v.Units = units.Metric
	}
	return nil
}

// rememberUnits keeps a choice in a logbook's vehicle.toml, the rest of it
// byte for byte as it was.
func rememberUnits(dir string, s units.System) error {
	path := filepath.Join(dir, vehicle.FileName)
	return disk.Change(path, session.MaxBytes, func(text string) (string, error) {
		now, err := vehicle.Remember([]byte(text), path, s)
		return string(now), err
	})
}
