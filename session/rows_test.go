package session

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Rows have the columns of dives.csv, those that are asked for beside them, and no heading that is empty; others are told.
func TestReadRows(t *testing.T) {
	rows, lines, err := ReadRows(strings.NewReader("dive;battery_v;wind;;note\n1;12,3;NW;x;\n\n2;;;;calm; \n"), "new.csv", "wind")
	require.NoError(t, err)
	assert.Equal(t, []Row{{"dive": "1", "battery_v": "12.3", "wind": "NW"}, {"dive": "2", "note": "calm"}}, rows)
	assert.Equal(t, []int{2, 4}, lines)
	_, _, err = ReadRows(strings.NewReader("dive,wind,mood\n1,NW,\n"), "new.csv", "wind")
	require.Error(t, err)
	assert.Contains(t, err.Error(), `new.csv:1: column "mood": unknown`)
	assert.NotContains(t, err.Error(), "wind")
}

// What cannot be read is told with the name of its file.
func TestUnreadable(t *testing.T) {
	torn := errors.New("torn")
	_, _, err := ReadRows(iotest.ErrReader(torn), "new.csv")
	require.ErrorIs(t, err, torn)
	assert.ErrorContains(t, err, "new.csv: ")
	_, err = ReadTable(iotest.ErrReader(torn), "old.csv")
	require.ErrorIs(t, err, torn)
	assert.ErrorContains(t, err, "old.csv: ")
}

// A file that is as wide as it may be takes no further column.
func TestNoRoomForAColumn(t *testing.T) {
	var own strings.Builder
	own.WriteString("dive")
	for i := range maxCells - 2 {
		fmt.Fprintf(&own, ",own%d", i)
	}
	head := own.String()
	for spare, want := range map[string]string{",more": "16384 columns, none can be added", "": ""} {
		text, err := EditText("dives.csv", head+spare+"\n", func(f *File) error { return f.Append(Row{"dive": "1", "battery_v": "12.5"}) })
		if want != "" {
			assert.ErrorContains(t, err, want)
			continue
		}
		require.NoError(t, err)
		assert.True(t, strings.HasPrefix(text, head+",battery_v\n1,"))
		assert.True(t, strings.HasSuffix(text, ",12.5\n"))
	}
}
