//go:build !mutation

package session

import (
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestManyWriters(t *testing.T) {
	t.Parallel()
	dir := folderWith(t, "dive,date,battery_v\n1,2026-05-02,12.7\n")
	var wait sync.WaitGroup
	for range 8 {
		wait.Go(func() {
			for range 25 {
				assert.NoError(t, Edit(dir, appending(Row{"dive": "1", "battery_v": "12.6"})))
			}
		})
	}
	wait.Wait()
	log, err := Open(dir)
	require.NoError(t, err)
	assert.Len(t, log.Dives[0].Lines, 201)
}

// A spreadsheet that saves the file while it is being changed heeds no lock.
func TestReplacedUnderUs(t *testing.T) {
	t.Parallel()
	dir := folderWith(t, "dive,date,battery_v\n1,2026-05-02,12.7\n")
	calls := 0
	require.NoError(t, Edit(dir, func(s *File) error {
		if calls++; calls == 1 {
			require.NoError(t, os.WriteFile(filepath.Join(dir, FileName), []byte("dive,date,battery_v\n1,2026-05-02,12.9\n"), 0o644))
		}
		return s.Append(Row{"dive": "1", "battery_v": "12.6"})
	}))
	assert.Equal(t, "dive,date,battery_v\n1,2026-05-02,12.9\n1,,12.6\n", fileOf(t, dir))

	n := 0
	err := Edit(dir, func(s *File) error {
		n++
		require.NoError(t, os.WriteFile(filepath.Join(dir, FileName), []byte("dive,date,battery_v\n"+strings.Repeat("#", n)+"\n"), 0o644))
		return s.Append(Row{"dive": "1", "date": "2026-05-02"})
	})
	assert.ErrorContains(t, err, "changed by another program while it was being written, nothing written")
}
