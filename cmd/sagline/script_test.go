package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"sagline": main})
}

// Whole commands, each with the text it prints.
func TestScripts(t *testing.T) {
	root, err := filepath.Abs("../..")
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script", RequireExplicitExec: true,
		Setup: func(e *testscript.Env) error {
			return os.CopyFS(filepath.Join(e.WorkDir, "examples"), os.DirFS(filepath.Join(root, "examples")))
		},
	})
}
