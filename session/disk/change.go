package disk

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"sagline/session/problem"
)

// errChanged says that another program, which ignores the lock, wrote the file while it was being
// changed.
var errChanged = errors.New("changed by another program while it was being written, nothing written; try again")

// Change changes a file of a logbook folder, completely or not at all. It locks out other writers
// of the folder, waits for a program that is writing the file, reads it and writes what change
// returns. If another program writes the file meanwhile, change is called again on its new content,
// at most three times in all. The text of a missing file is "". A file of more than most bytes is a
// problem. The error is that of change or a system error; the file then stays as it was.
func Change(path string, most int64, change func(text string) (string, error)) error {
	path, _, err := target(path)
	if err != nil {
		return err
	}
	unlock, err := lock(filepath.Dir(path))
	if err != nil {
		return err
	}
	defer unlock()
	for range 3 {
		if err = changeOnce(path, most, change); !errors.Is(err, errChanged) {
			return err
		}
	}
	return err
}

func changeOnce(path string, most int64, change func(text string) (string, error)) error {
	recent, err := waitForWriter(path)
	if err != nil {
		return err
	}
	_, old, err := target(path)
	before := ""
	if err == nil && old != nil {
		before, err = Read(path, most)
	}
	if err != nil {
		return err
	}
	now, err := change(before)
	if err != nil || before == now {
		return err
	}
	unchanged := func() error {
		_, err := os.Lstat(path)
		if made := old == nil && err == nil; made || old != nil && !same(path, before) { // compares content: times may agree if a clock was set back
			return fmt.Errorf("%s: %w", path, errChanged)
		}
		return nil
	}
	link, err := replace(path, old, func(w io.Writer) error { _, err := io.WriteString(w, now); return err }, unchanged)
	if errors.Is(err, errOwner) {
		if err := unchanged(); err != nil {
			return err
		}
		return writeInPlace(path, before, now)
	}
	if err != nil {
		return err
	}
	return restore(link, path, before, recent)
}

// restore renames link, the replaced file, back to path if another program has gone on writing it.
// It checks at once, or after a pause if that program wrote recently.
func restore(link, path, before string, recent bool) error {
	if link == "" {
		return nil
	}
	defer os.Remove(link)
	if recent {
		time.Sleep(pause)
	}
	if _, err := os.Lstat(link); err != nil || same(link, before) {
		return nil
	}
	if err := onDisk.rename(link, path); err != nil {
		return notWritten(path, err)
	}
	return fmt.Errorf("%s: %w", path, errChanged)
}

// writeInPlace writes a file of another owner from the first differing byte on. An added line thus
// leaves the others as they are even if this program is killed.
func writeInPlace(path, before, now string) error {
	f, err := os.OpenFile(path, os.O_WRONLY, 0)
	if err != nil {
		return notWritten(path, err)
	}
	at := 0
	for at < min(len(before), len(now)) && before[at] == now[at] {
		at++
	}
	_, err = f.WriteAt([]byte(now[at:]), int64(at))
	if err == nil {
		err = f.Truncate(int64(len(now)))
	}
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		return problem.Whole(path, "cannot be written: %v; it may be written in part", cause(err))
	}
	return nil
}

const (
	// pause is how long a file must be unchanged to count as complete. Programs that write in
	// place pause for less between two parts. Common practice, no source.
	pause = 300 * time.Millisecond

	// pauseUnended is the pause for a file that does not end with a line end.
	pauseUnended = 2 * time.Second

	// recently is how long after its last write a program may go on writing.
	recently = 10 * time.Second
)

// waitForWriter waits until no program seems to be writing a file in place. recent reports whether
// one did recently. Files that Change writes have a modification time in whole seconds and count as
// complete at once.
func waitForWriter(path string) (recent bool, err error) {
	for start := time.Now(); time.Since(start) < lockWait; {
		st, err := os.Stat(path)
		if errors.Is(err, fs.ErrNotExist) {
			return false, nil
		}
		if err != nil {
			return false, notWritten(path, err)
		}
		age := time.Since(st.ModTime())
		if st.ModTime().Nanosecond() == 0 || age > pauseUnended || age > pause && ended(path, st) {
			return recent || age < recently && st.ModTime().Nanosecond() != 0, nil
		}
		recent = true
		time.Sleep(pause)
		if now, err := os.Stat(path); err == nil && now.Size() == st.Size() && now.ModTime().Equal(st.ModTime()) && ended(path, st) {
			return true, nil
		}
	}
	return false, problem.Whole(path, "another program has been writing it for %v; nothing written, try again when it is done", lockWait)
}

// ended reports whether a file ends with a line end, in any encoding.
func ended(path string, st fs.FileInfo) bool {
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	last := make([]byte, 2)
	n, _ := f.ReadAt(last, max(0, st.Size()-2))
	end := bytes.TrimSuffix(last[:n], []byte{0}) // UTF-16, little-endian
	return len(end) == 0 || bytes.ContainsAny(end[len(end)-1:], "\r\n")
}
