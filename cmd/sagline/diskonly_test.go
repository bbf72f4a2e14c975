package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// writesFiles are the functions of the standard library, and of those that draw,
// which put something under a name at once, half done or not.
var writesFiles = map[string]bool{
	"os.Create": true, "os.CreateTemp": true, "os.OpenFile": true, "os.WriteFile": true, "os.Rename": true, "os.Truncate": true, "os.Remove": true,
	"os.RemoveAll": true, "os.Link": true, "os.Symlink": true, "os.CopyFS": true, "doc.GenManTree": true, "doc.GenManTreeFromOpts": true,
}

// Every file that the program writes goes through session/disk, which
// alone knows how to write one whole or not at all.
func TestOnlyDiskWrites(t *testing.T) {
	found := 0
	err := filepath.WalkDir("../..", func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() || filepath.Ext(path) != ".go" || strings.HasSuffix(path, "_test.go") {
			return err
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
		require.NoError(t, err)
		ast.Inspect(file, func(n ast.Node) bool {
			if s, ok := n.(*ast.SelectorExpr); ok {
				if pkg, ok := s.X.(*ast.Ident); ok && writesFiles[pkg.Name+"."+s.Sel.Name] {
					found++
					at := filepath.ToSlash(path)
					temporary := at == "../../cmd/site/write.go" && s.Sel.Name == "RemoveAll" // of the folder that it builds in
					assert.True(t, temporary || strings.HasPrefix(at, "../../session/disk/"), "%s calls %s.%s", at, pkg.Name, s.Sel.Name)
				}
			}
			return true
		})
		return nil
	})
	require.NoError(t, err)
	assert.Positive(t, found)
}
