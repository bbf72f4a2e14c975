package main

import (
	"bytes"
	"compress/gzip"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A version goes a day after the next was written, and nothing else does.
func TestSweep(t *testing.T) {
	t.Parallel()
	folder, now := t.TempDir(), time.Now()
	old := func(name, file string, hours int) {
		path := filepath.Join(folder, name, file)
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path, nil, 0o600))
		at := now.Add(-time.Duration(hours) * time.Hour)
		require.NoError(t, os.Chtimes(path, at, at))
	}
	old("00000000000a", "worker.js", 90)
	old("00000000000b", "worker.js", 50) // replaced 20 hours ago
	old("00000000000c", "worker.js", 20)
	old("00000000000d", "worker.js", 0)
	old("000000000000", "holiday.jpg", 900)
	old("letters", "worker.js", 900)
	require.NoError(t, removeOldVersions(folder, now))
	list, err := filepath.Glob(filepath.Join(folder, "*"))
	require.NoError(t, err)
	for i := range list {
		list[i] = filepath.Base(list[i])
	}
	assert.Equal(t, []string{"000000000000", "00000000000b", "00000000000c", "00000000000d", "letters"}, list)
}

// Only a new folder, or one that holds a site, is written into; of that the
// version before stays.
func TestWrite(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	t.Parallel()
	folder := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(folder, "letter.txt"), []byte("mine"), 0o600))
	assert.ErrorContains(t, write(folder), "holds other files, nothing written")
	s, err := built()
	require.NoError(t, err)
	folder = t.TempDir()
	require.NoError(t, s.save(folder))
	require.NoError(t, free(folder))
	require.NoError(t, site{"service.js": []byte("1"), "0123456789ab/page.js": []byte("2")}.save(folder))
	list, err := filepath.Glob(filepath.Join(folder, "*"))
	require.NoError(t, err)
	assert.Len(t, list, 4)
	marked, err := os.ReadFile(filepath.Join(folder, "service.js"))
	require.NoError(t, err)
	assert.Equal(t, "1", string(marked))
}

// What a first line is typed with is small enough for a slow network, and its
// models are WebAssembly. The same files make the same version.
func TestBuilt(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	t.Parallel()
	s, err := built()
	require.NoError(t, err)
	entry := 0
	for name, text := range s {
		if filepath.Base(name) != later {
			entry += len(text)
		}
		if filepath.Ext(name) == ".bin" {
			r, err := gzip.NewReader(bytes.NewReader(text))
			require.NoError(t, err)
			head := make([]byte, 4)
			_, err = io.ReadFull(r, head)
			require.NoError(t, err)
			assert.Equal(t, "\x00asm", string(head))
			t.Logf("%s: %d bytes packed", filepath.Base(name), len(text))
		}
	}
	assert.Less(t, entry, 3_150_000, "bytes over the wire")
	index := string(s["index.html"])
	assert.NotContains(t, index, "unsafe-inline")
	assert.Equal(t, 3, strings.Count(index, " 'sha256-"), "the report's script and the style sheets of report and card")
	files := site{"index.html": []byte("{{.Version}}"), "service.js": nil, "page.js": []byte("1"), "style.css": []byte("2")}
	one, err := files.versioned()
	require.NoError(t, err)
	two, err := files.versioned()
	require.NoError(t, err)
	assert.Equal(t, one, two)
	files["page.js"] = []byte("3")
	other, err := files.versioned()
	require.NoError(t, err)
	assert.NotEqual(t, one["index.html"], other["index.html"])
}
