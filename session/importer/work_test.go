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

// An answer is read as a dive's cells are, in any unit and short form; what no cell
// can hold is asked again.
func TestAnswersAreReadAsCells(t *testing.T) {
	s := source(t, "Dive;Date;Motors;Battery (V);Remarks\n1;2026-05-31;no. 3;12.5;took off 2 weights\n")
	m := Propose(s, otter)
	list := Convert(s, m, otter, nil).Asked
	require.Len(t, list, 2)
	require.ErrorContains(t, list[0].Answer("prot"), `(nearest: "port")`)
	require.Error(t, list[0].Answer(""))
	require.NoError(t, list[0].Answer("p+star"))
	for _, a := range []string{"NaN", "heavy", "1e9"} {
		require.Error(t, list[1].Answer(a), a)
	}
	require.NoError(t, list[1].Answer("-0,5 kg"))
	assert.Equal(t, "port + starboard|-500\n", rows(Convert(s, m, otter, nil), "thrusters ballast_g"))
}

// What becomes of a heading is offered once, of two headings for one column too.
func TestChoicesAreOfferedOnce(t *testing.T) {
	s := source(t, "Date;Depth (m);Tiefe (m);Battery (V)\n2026-05-31;3;3;12.5\n")
	for _, q := range Convert(s, Propose(s, otter), otter, nil).Asked {
		assert.Equal(t, []string{"depth_m", "note", ""}, q.Choices)
		assert.EqualError(t, q.Answer("depth"), `found "depth", want one of depth_m, note, - (left out)`)
	}
}
