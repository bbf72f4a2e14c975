package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"sagline/cmd/prompt"
	"sagline/predict/advice"
)

// printAfterDive says what a dive says once it is written down, what to check before the
// next, and what reading would tell more.
func printAfterDive(cmd *cobra.Command, dir, dive string, width int) error {
	r, rep, _, err := analyse(cmd, dir)
	if err != nil {
		return err
	}
	which, err := diveAt(r, dive)
	if err != nil {
		return err
	}
	after := rep.After(r, which)
	w := cmd.OutOrStdout()
	say := func(head, text string) { _, _ = io.WriteString(w, prompt.Wrap(head, text, width)) }
	say(fmt.Sprintf("dive %s: ", dive), after.Says)
	for _, danger := range advice.DiveDangers(r.Model.Vehicle, r.Kept(which)) {
		say("mind: ", danger.String())
	}
	if after.Check != "" {
		say("before the next dive: ", after.Check)
	}
	if after.Read != "" {
		say("would tell more: ", after.Read)
	}
	fmt.Fprintf(w, "next: sagline trend %s\n", dir)
	return nil
}
