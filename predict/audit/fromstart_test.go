package audit

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/fit"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
)

// Where a key that the file leaves out may explain the first dives, it is named before a fault is; one that is stated is an
// alternative.
func TestKeyLeftOut(t *testing.T) {
	const bare = "name = \"Newt\"\n[battery]\nnominal_v = 12\n[tether]\nlength_m = 20\n[tether.power]\narea_mm2 = 1.5\n[[thruster]]\nname = \"p\"\naxis = \"surge\"\n"
	for more, want := range map[string][]string{
		"":                          {"thruster.p.test_a", "the file leaves it out, and the first dives read as with another than is assumed, or else with excess wiring resistance of p 0.7 Ω: write it down as a test reads it; if it is as assumed, hands clear of the blades, measure the voltage across the p thruster's relay contact and leads under load"},
		"test_v = 12\ntest_a = 5\n": {"thruster.p.branch_ohm", "the first dives read as with excess wiring resistance of p 0.7 Ω, or else another thruster.p.test_a than the file says: hands clear of the blades, measure the voltage across the p thruster's relay contact and leads under load"},
	} {
		v, err := vehicle.Read(strings.NewReader(bare+more), vehicle.FileName)
		require.NoError(t, err)
		rows := causes.Table(v)
		i := slices.IndexFunc(rows, func(c causes.Cause) bool { return c.Name == "branch:p" })
		r := &fit.Result{Models: []*predict.Model{predict.NewModel(v)}, FromStart: []fit.FromStart{
			{Cause: &rows[i], Amplitude: 0.7, Probability: 0.8}, {Key: &priors.Doubt{Paths: []string{"thruster.p.test_a"}}, Probability: 0.18}}}
		got := fromStart(r, nil)
		require.Len(t, got, 1)
		assert.Equal(t, want, []string{got[0].Path, got[0].Text})
	}
}
