package calls

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/plotting/report"
	"sagline/predict/advice"
	"sagline/predict/drift"
	"sagline/predict/fit"
	"sagline/predict/vehicle"
	"sagline/session"
)

// The report is the page that the report command makes of the same files.
func TestReport(t *testing.T) {
	b, _ := opened(t, "joint")
	_, files := asked[bool](t, b, "report", Arguments{})
	const folder = "../../../examples/joint"
	v, err := vehicle.Open(folder)
	require.NoError(t, err)
	log, err := session.Read(strings.NewReader(fewDives(t, folder+"/dives.csv")), "dives.csv")
	require.NoError(t, err)
	r, err := fit.Fit(v, log)
	require.NoError(t, err)
	read := report.Read(r, drift.Analyse(r), log, report.Options{})
	p := report.Page{Vehicles: []*report.Vehicle{read}, Cautions: strings.Join(advice.AllCautions(), " ")}
	var want strings.Builder
	require.NoError(t, p.Write(&want))
	assert.True(t, want.String() == files[0])
}

// The card has readings with ranges, margins that are not met, and the checks;
// depth and water may be said.
func TestCard(t *testing.T) {
	b, _ := opened(t, "joint")
	_, files := asked[bool](t, b, "card", Arguments{})
	for _, want := range []string{"3 m deep in water of 14.5 °C and 0 psu", "should be", "<b>climb</b>", "read this first: count the weights", "<h2>Margins</h2>", "the 10 A fuse does not see it in time",
		"<h2>Before the dive</h2>", "fuse at the battery", "<h2>After the dive</h2>", "RCD/GFCI"} {
		assert.True(t, strings.Contains(files[0], want), want)
	}
	_, files = asked[bool](t, b, "card", Arguments{Row: session.Row{"depth_m": "13 ft", "water_c": "4,5", "salinity_psu": "35"}})
	assert.True(t, strings.Contains(files[0], "3.96 m deep in water of 4.5 °C and 35 psu"))
	_, _, err := try[bool](t, b, "card", Arguments{Row: session.Row{"depth_m": "deep"}})
	assert.Equal(t, `depth_m: found "deep", want a number in m`, err)
}

// Where no depth is said the card's is no deeper than a tube's guide.
func TestCardOfAFrailTube(t *testing.T) {
	vehicle, err := os.ReadFile("../../../examples/joint/vehicle.toml")
	require.NoError(t, err)
	frail := string(vehicle) + "\n[[tube]]\nname = \"box\"\nouter_mm = 110\nwall_mm = 1.6\nlength_mm = 200\nmaterial = \"acrylic\"\n"
	b := &Logbook{}
	asked[State](t, b, "open", Arguments{Today: "2027-01-02"}, frail, "dive,date\n")
	for depth, want := range map[string]string{"": ", 0.5 m deep in water", "2": ", 2 m deep in water"} {
		_, files := asked[bool](t, b, "card", Arguments{Row: session.Row{"depth_m": depth}})
		assert.True(t, strings.Contains(files[0], want), want)
	}
}

// Of files with problems no page is made; of a vehicle without dives a card is.
func TestPagesOfLittle(t *testing.T) {
	vehicle, err := os.ReadFile("../../../examples/joint/vehicle.toml")
	require.NoError(t, err)
	for dives, want := range map[string]string{"dive,date,battery_v\n1,2026-05-01,full\n": "nothing can be said of the dives until they are mended", "dive,date\n": ""} {
		b := &Logbook{}
		asked[State](t, b, "open", Arguments{Today: "2027-01-02"}, string(vehicle), dives)
		for _, page := range []string{"report", "card"} {
			_, files, err := try[bool](t, b, page, Arguments{})
			assert.Contains(t, err, want)
			if want == "" {
				require.Empty(t, err)
				assert.Contains(t, files[0], "<html")
			}
		}
	}
}
