package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
)

func newNew() *cobra.Command {
	return &cobra.Command{
		Use: "new FOLDER", Short: "Begin a logbook: a commented vehicle.toml and an empty dives.csv",
		Example: "  $ sagline new pond", Args: upTo(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) != 1 {
				return useError{fmt.Errorf("new: want the folder to make")}
			}
			header := func(w io.Writer) error { return session.Write(w, simulate.Columns, &session.Log{}) }
			if err := writeLogbook(cmd, args[0], header); err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "%s: edit %s to your vehicle; next: sagline check %s\n", args[0], vehicle.FileName, args[0])
			return nil
		},
	}
}

// writeLogbook makes a folder with the example vehicle, which remembers
// --units, and a log; it refuses a folder that has either file.
func writeLogbook(cmd *cobra.Command, dir string, log func(io.Writer) error) error {
	text := []byte(simulate.VehicleText())
	s, err := unitsAsked(cmd)
	if err == nil && s != "" {
		text, err = vehicle.Remember(text, vehicle.FileName, s)
	}
	if err != nil {
		return err
	}
	for _, name := range []string{vehicle.FileName, session.FileName} {
		if _, err := os.Lstat(filepath.Join(dir, name)); err == nil {
			return fmt.Errorf("%s: exists, not overwritten", filepath.Join(dir, name))
		}
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	write := func(w io.Writer) error {
		_, err := w.Write(text)
		return err
	}
	if err := session.SaveFile(filepath.Join(dir, vehicle.FileName), write); err != nil {
		return err
	}
	return session.SaveFile(filepath.Join(dir, session.FileName), log)
}
