package main

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"
)

// smallDisk mounts a small disk of its own with a logbook on it.
func smallDisk(t *testing.T) (dir string) {
	t.Helper()
	dir = t.TempDir()
	if err := syscall.Mount("none", dir, "tmpfs", 0, "size=256k"); err != nil {
		t.Skip("no disk can be mounted here, as only root can:", err)
	}
	t.Cleanup(func() { require.NoError(t, syscall.Unmount(dir, 0)) })
	require.NoError(t, shortExample(dir, "joint"))
	return dir
}

func TestDiskFull(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	dir := smallDisk(t)
	f, err := os.Create(filepath.Join(dir, "photos"))
	require.NoError(t, err)
	for block := make([]byte, 4096); err == nil; {
		_, err = f.Write(block)
	}
	require.NoError(t, f.Close())
	for _, args := range writing(dir, filepath.Join(dir, "x")) {
		refused(t, sagline(args...), dir, "cannot be written: no space left on device")
	}
	require.NoError(t, os.Remove(filepath.Join(dir, "photos")))
	usual(t, nil, writing(dir, "")[0]...)
}

func TestReadOnlyDisk(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	dir := smallDisk(t)
	require.NoError(t, syscall.Mount("none", dir, "", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""))
	for _, args := range writing(dir, filepath.Join(dir, "x")) {
		refused(t, sagline(args...), dir, "cannot be written: read-only file system")
	}
	for _, args := range [][]string{{"new", filepath.Join(dir, "other")}, {"demo", filepath.Join(dir, "other")}} {
		refused(t, sagline(args...), dir, "read-only file system")
	}
	usual(t, nil, "trend", dir)
}
