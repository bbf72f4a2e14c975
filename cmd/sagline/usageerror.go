package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"sagline/session/problem"
)

// unknownCommand names the command nearest to what was asked for.
func unknownCommand(root *cobra.Command, name string) error {
	var known []string
	for _, c := range root.Commands() {
		if c.IsAvailableCommand() || c.Name() == "help" {
			known = append(known, c.Name())
		}
	}
	return useError{fmt.Errorf("unknown command %s%s", problem.Quote(name), problem.Suggest(name, known))}
}

// wrongFlag names the flag nearest to one that a command does not have.
func wrongFlag(cmd *cobra.Command, err error) error {
	var unknown *pflag.NotExistError
	if !errors.As(err, &unknown) || unknown.GetSpecifiedShortnames() != "" {
		return useError{fmt.Errorf("%s: %w", cmd.Name(), err)}
	}
	var known []string
	add := func(f *pflag.Flag) { known = append(known, "--"+f.Name) }
	cmd.LocalFlags().VisitAll(add)
	cmd.InheritedFlags().VisitAll(add)
	return useError{fmt.Errorf("%s: %w%s", cmd.Name(), err, problem.Suggest("--"+unknown.GetSpecifiedName(), known))}
}
