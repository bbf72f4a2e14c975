package session

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestFirstComment(t *testing.T) {
	for text, want := range map[string]string{
		"# simulated: an invented vehicle\ndive,date\n": "simulated: an invented vehicle", "\ufeff#ours\r\ndive\n": "ours",
		"dive,date\n# later\n": "", "": "", "#": "", "# no line end": "no line end",
		"# " + strings.Repeat("x", 9000): strings.Repeat("x", longestComment-2),
	} {
		dir := t.TempDir()
		require.NoError(t, os.WriteFile(filepath.Join(dir, FileName), []byte(text), 0o600))
		assert.Equal(t, want, FirstComment(dir))
	}
	assert.Empty(t, FirstComment(filepath.Join(t.TempDir(), "nowhere")))
}

func TestEscapeFormula(t *testing.T) {
	for text, want := range map[string]string{"=1+1": "'=1+1", "7": "7", "-x": "'-x", "@a": "'@a", "": ""} {
		assert.Equal(t, want, EscapeFormula(text))
	}
}
