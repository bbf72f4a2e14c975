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
	var priors, asJSON bool
	cmd := &cobra.Command{
		Use: "new FOLDER", Short: "Begin a logbook: a commented vehicle.toml and an empty dives.csv",
		Long: "Writes a vehicle.toml that has every key there is, each with what it is, how to find it out and what is assumed where\n" +
			"it is left out, and an empty dives.csv. --priors prints the same as a table and writes nothing.",
		Example: "  $ sagline new pond\n  $ sagline new --priors", Args: upTo(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			switch {
			case priors && len(args) == 0:
				return printPriors(cmd.OutOrStdout(), asJSON)
			case priors || len(args) != 1:
				return useError{fmt.Errorf("new: want the folder to make, or --priors")}
			}
			if err := writeLogbook(cmd, args[0], vehicle.Example().Text(), noLines); err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "%s: edit %s to your vehicle; next: sagline check %s\n", args[0], vehicle.FileName, args[0])
			return nil
		},
	}
	cmd.Flags().BoolVar(&priors, "priors", false, "print every key with what is assumed of it where it is left out")
	cmd.Flags().BoolVar(&asJSON, "json", false, "with --priors: as JSON")
	return cmd
}

// noLines is a log before its first line.
func noLines(w io.Writer) error { return session.Write(w, simulate.Columns, &session.Log{}) }

// printPriors prints the table of keys as the example vehicle has it.
func printPriors(w io.Writer, asJSON bool) error {
	rows := vehicle.Example().Table()
	if asJSON {
		return printJSON(w, map[string]any{"schema": 1, "keys": rows})
	}
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
	return nil
}

// writeLogbook makes a folder with a vehicle.toml, which remembers --units, and
// a log; it refuses a folder that has either file.
func writeLogbook(cmd *cobra.Command, dir string, text []byte, log func(io.Writer) error) error {
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
