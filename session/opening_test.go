package session

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestOpening(t *testing.T) {
	for text, want := range map[string]string{
		"# simulated: an invented vehicle\ndive,date\n": "simulated: an invented vehicle", "\ufeff#ours\r\ndive\n": "ours",
		"dive,date\n# later\n": "", "#\ndive\n": "", "dive\n": "",
	} {
		assert.Equal(t, want, read(t, text).Opening)
	}
}

func TestEscapeFormula(t *testing.T) {
	for text, want := range map[string]string{"=1+1": "'=1+1", "7": "7", "-x": "'-x", "@a": "'@a", "": ""} {
		assert.Equal(t, want, EscapeFormula(text))
	}
}
