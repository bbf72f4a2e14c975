package main

import (
	"bytes"
	"io"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every command's help has an example, and every example runs as it stands in
// a folder of its own beside the examples folder.
func TestEveryExampleRuns(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	done := map[string]bool{} // one that several commands show
	for _, c := range family(newRoot(io.Discard)) {
		ran := 0
		for line := range strings.Lines(c.Example) {
			call, ok := strings.CutPrefix(strings.TrimSpace(line), "$ sagline ")
			if !ok {
				continue
			}
			ran++
			if done[call] {
				continue
			}
			done[call] = true
			t.Run(call, func(t *testing.T) {
				t.Chdir(t.TempDir())
				require.NoError(t, shortExamples("examples"))
				var out, errOut bytes.Buffer
				args := arguments(call)
				if args[0] == "rehearse" { // many seasons say no more of the example
					args = append(args, "--seasons", rehearsed)
				}
				assert.Equal(t, exitDone, Run(args, strings.NewReader(""), &out, &errOut), errOut.String())
			})
		}
		assert.Positive(t, ran, "%s: want a line \"$ sagline …\" in its Example", c.CommandPath())
		assert.NotEmpty(t, c.Short, c.CommandPath())
	}
}

// Flags and commands are told apart from their neighbours by their nearest
// name, whichever command it is.
func TestWrongUseNamesTheNearest(t *testing.T) {
	for _, c := range family(newRoot(io.Discard)) {
		if !c.HasParent() || c.Name() == "help" {
			continue
		}
		path := strings.Fields(strings.TrimPrefix(c.CommandPath(), "sagline "))
		var out, errOut bytes.Buffer
		assert.Equal(t, exitUse, Run(append(path, "--unitss"), strings.NewReader(""), &out, &errOut), c.CommandPath())
		assert.Contains(t, errOut.String(), `unknown flag: --unitss (nearest: "--units")`)
		assert.Empty(t, out.String())
	}
}

// family is a command and all that can be called below it.
func family(c *cobra.Command) []*cobra.Command {
	out := []*cobra.Command{c}
	for _, below := range c.Commands() {
		if below.IsAvailableCommand() || below.Name() == "help" {
			out = append(out, family(below)...)
		}
	}
	return out
}

// arguments splits a call as a shell does, as far as double quotes go.
func arguments(call string) (out []string) {
	for i, part := range strings.Split(call, `"`) {
		if i%2 == 1 {
			out = append(out, part)
			continue
		}
		out = append(out, strings.Fields(part)...)
	}
	return out
}

// A command that is made alone is the one that stands among all.
func TestCommandsMadeAlone(t *testing.T) {
	var all, alone bytes.Buffer
	names := []string{"--version"}
	for _, m := range makers() {
		names = append(names, m.name)
		assert.Equal(t, m.name, m.make().Name())
	}
	for _, name := range names {
		args := []string{name, "--help"}
		if name == "--version" {
			args = args[:1]
		}
		all.Reset()
		alone.Reset()
		root := newRoot(io.Discard)
		root.SetArgs(args)
		root.SetOut(&all)
		require.NoError(t, root.Execute())
		assert.Equal(t, exitDone, Run(args, strings.NewReader(""), &alone, &alone))
		assert.Equal(t, all.String(), alone.String(), name)
		assert.NotEmpty(t, alone.String())
	}
}
