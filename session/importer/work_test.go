package importer

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestWorkInNotes(t *testing.T) {
	for text, want := range map[string]string{
		"took off 2 weights": "ballast_g ?", "added 200 g lead": "ballast_g 200", "200 g Blei entfernt": "ballast_g -200", "quitado 2 x 50 g de plomo": "ballast_g -100",
		"added 1/2 lb lead": "ballast_g ?", "added 1 lb of lead": "ballast_g 453.5924", "re-did tether joint": "serviced tether+joint", "new O-ring": "serviced seal",
		"Stecker neu gelötet": "serviced joint", "remplacé le joint torique": "serviced seal", "hélice limpiada": "serviced propeller", "schroef schoongemaakt": "serviced propeller",
		"cleaned prop, took off 100 g lead": "serviced propeller, ballast_g -100",
		"need to redo joint":                "", "new battery soon": "", "the tether is long": "", "battery": "", "Dichtung noch nicht erneuert": "", "took off lead, added weight": "",
	} {
		assert.Equal(t, want, workIn(text), text)
	}
}

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

// Only work that was done counts.
func TestServices(t *testing.T) {
	for note, want := range map[string]string{"new propeller": "propeller", "weed near the propeller": "", "must replace the seal": "", "cleaned hull and prop": "propeller+hull", "added 200 g ballast": ""} {
		assert.Equal(t, want, Services(note), note)
	}
}
