package importer

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What notes say is asked about once, and written where it is agreed to.
func TestWorkIsAgreedTo(t *testing.T) {
	text := "Date;Battery (V);Remarks\n2026-05-31;12.1;new O-ring\n;12.2;took off 2 weights\n"
	for answer, want := range map[string]string{"yes": "seal||new O-ring\n|-150|took off 2 weights\n", "no": "||new O-ring\n||took off 2 weights\n"} {
		s := source(t, text)
		m := Propose(s, otter)
		taken := Convert(s, m, otter, nil)
		require.Len(t, taken.Asked, 2)
		assert.Equal(t, `notes of work done: "new O-ring" is serviced seal: take these?`, taken.Asked[0].Text)
		require.Error(t, taken.Asked[0].Answer("perhaps"))
		require.NoError(t, taken.Asked[0].Answer(answer))
		if answer == "yes" {
			require.Error(t, taken.Asked[1].Answer("two"))
			require.NoError(t, taken.Asked[1].Answer("-150"))
		}
		taken = Convert(s, m, otter, nil)
		assert.Empty(t, taken.Asked)
		assert.Equal(t, want, rows(taken, "serviced ballast_g note"))
	}
}
