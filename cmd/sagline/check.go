package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"sagline/predict/fit"
)

func newCheck() *cobra.Command {
	return &cobra.Command{
		Use: "check [LOGBOOK]", Short: "Every problem of vehicle.toml and dives.csv, with its place",
		Example: "  $ sagline check examples/joint", Args: upTo(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			v, log, err := openLogbook(cmd, folder(args))
			if err != nil {
				return err
			}
			if err := fit.Check(v, log); err != nil && !errors.Is(err, fit.ErrNoDives) {
				return err
			}
			for _, w := range log.Warnings {
				fmt.Fprintln(cmd.OutOrStdout(), w)
			}
			lines := 0
			for i := range log.Dives {
				lines += len(log.Dives[i].Lines)
			}
			next := "sagline trend"
			if lines == 0 {
				next = "sagline predict, then write a dive down"
			}
			fmt.Fprintf(cmd.OutOrStdout(), "%s: sound, %d dives, %d lines; next: %s\n", v.Name, len(log.Dives), lines, next)
			return nil
		},
	}
}
