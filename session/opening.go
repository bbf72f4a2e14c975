package session

import (
	"bufio"
	"io"
	"os"
	"path/filepath"
	"strings"
)

// mostOpening bounds what is read of a file for its opening comment, bytes.
const mostOpening = 4096

// Opening is what the comment says that a folder's dives.csv begins with; ""
// when it begins with none, or cannot be read.
func FirstComment(folder string) string {
	f, err := os.Open(filepath.Join(folder, FileName))
	if err != nil {
		return ""
	}
	defer f.Close()
	line, _ := bufio.NewReader(io.LimitReader(f, mostOpening)).ReadString('\n')
	text, found := strings.CutPrefix(strings.TrimPrefix(line, "\ufeff"), "#")
	if !found {
		return ""
	}
	return strings.TrimSpace(text)
}
