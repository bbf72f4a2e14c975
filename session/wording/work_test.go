package wording

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestWorkInNotes(t *testing.T) {
	for text, want := range map[string]string{
		"took off 2 weights": "ballast_g ?", "added 200 g lead": "ballast_g 200", "200 g Blei entfernt": "ballast_g -200", "quitado 2 x 50 g de plomo": "ballast_g -100",
		"added 1/2 lb lead": "ballast_g ?", "added 1 lb of lead": "ballast_g 453.5924", "re-did tether joint": "serviced tether+joint", "new O-ring": "serviced seal",
		"Stecker neu gelötet": "serviced joint", "Kabel geflickt": "serviced tether", "remplacé le joint torique": "serviced seal", "hélice limpiada": "serviced propeller", "schroef schoongemaakt": "serviced propeller",
		"cleaned prop, took off 100 g lead": "serviced propeller, ballast_g -100",
		"need to redo joint":                "", "new battery soon": "", "the tether is long": "", "battery": "", "Dichtung noch nicht erneuert": "", "took off lead, added weight": "",
	} {
		assert.Equal(t, want, Work(text), text)
	}
}

// Only work that was done counts.
func TestServices(t *testing.T) {
	for note, want := range map[string]string{"new propeller": "propeller", "weed near the propeller": "", "must replace the seal": "", "cleaned hull and prop": "propeller+hull", "added 200 g ballast": "", "cleaned prop, took off 100 g lead": "propeller"} {
		assert.Equal(t, want, Services(note), note)
	}
}

func TestAshore(t *testing.T) {
	for note, want := range map[string]bool{"bench test; dry": true, "run in air before the dive": true, "auf der Werkbank": true, "à terre": true, "out of the water": true,
		"plugs dry": false, "air in the hose": false, "dried and greased": false, "benched": false, "not on land": false, "landed well": false, "": false} {
		assert.Equal(t, want, Ashore(note), note)
	}
}
