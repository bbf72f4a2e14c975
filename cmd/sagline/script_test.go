package main

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"runtime/debug"
	"slices"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"sagline/session"
)

func TestMain(m *testing.M) {
	debug.SetGCPercent(300)            // as main does
	_ = flag.Set("test.parallel", "6") // scripts wait for processes, and for files to rest, more than they work
	testscript.Main(m, map[string]func(){"sagline": main})
}

// Whole commands, each with the text it prints.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script", RequireExplicitExec: true,
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"withoutdates": withoutDates, "whole": whole},
		Setup: func(e *testscript.Env) error {
			if name := strings.TrimPrefix(filepath.Base(e.WorkDir), "script-"); testing.Short() && !slices.Contains(quick, name) {
				e.T().Skip("some seconds")
			}
			return shortExamples(filepath.Join(e.WorkDir, "examples"))
		},
	})
}

// quick are the scripts that -short runs.
var quick = []string{"amend", "bad", "change", "check", "complete", "import", "import_asks", "new", "own-columns", "predict", "trim"}

// whole puts the log of an example back as it is shipped, where what all its dives say is asked for.
func whole(ts *testscript.TestScript, _ bool, args []string) {
	text, err := os.ReadFile(filepath.Join(examples, args[0], session.FileName))
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(filepath.Join("examples", args[0], session.FileName)), text, 0o666))
}

// withoutDates takes the column of days out of a dives.csv.
func withoutDates(ts *testscript.TestScript, _ bool, args []string) {
	path := ts.MkAbs(args[0])
	log, err := session.Read(strings.NewReader(ts.ReadFile(path)), path)
	ts.Check(err)
	var out bytes.Buffer
	ts.Check(session.Write(&out, slices.DeleteFunc(log.Columns, func(name string) bool { return name == "date" }), log))
	ts.Check(os.WriteFile(path, out.Bytes(), 0o666))
}
