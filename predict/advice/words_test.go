package advice

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// Conductors that get hot even paid out want others where there are any that would not, else shorter runs; those that do only on a reel
// want to be paid out.
func TestHeatingSaid(t *testing.T) {
	better := 4.0
	for said, h := range map[string]Heating{
		"they get hot even paid out: run short, or conductors of 4 mm²":             {Density: Range{5, 4, 5.1}, BetterOf: &better},
		"they get hot even paid out: run short, and less at a time":                 {Density: Range{5, 4, 5.1}},
		"pay all of it out; wound on a reel they get hot above 3 A/mm²":             {Density: Range{4, 3, 4.9}},
		"at the heaviest run, on a reel too":                                        {Density: Range{2, 1, 2.9}},
		"likely carry 4.9 A/mm² at the heaviest run, and may carry 5.5, above 5":    {Density: Range{4.3, 4.9, 5.5}},
		"likely carry 2.9 A/mm² at the heaviest run, and may carry 3.1: pay all of": {Density: Range{2.6, 2.9, 3.1}},
		"conductors carry 5.2 A/mm² (4.9 to 5.6) at the heaviest run, above 5":      {Density: Range{4.9, 5.2, 5.6}},
		"resistance beyond the file's is a cable of 1.5 mm² a leg: read its":        {Density: Range{2, 1, 2.9}, ThinMM2: 1.5},
	} {
		assert.Contains(t, h.words("4 mm²"), said)
	}
}

// Water is told where it is fresh or nobody said what it is, then beside the newest dive's if that was another.
func TestFreshSaid(t *testing.T) {
	for _, c := range []struct {
		psu     float64
		assumed bool
		newest  float64
		want    string
	}{
		{0, false, 0, " (fresh)"}, {0, false, 35, " (fresh)"}, {0, true, 0, " (fresh, assumed)"}, {0, true, 33.5, " (fresh, assumed, the newest dive's was 33.5)"},
		{35, false, 0, ""}, {35, false, 35, ""}, {35, true, 35, " (assumed)"}, {35, true, 0, " (assumed, the newest dive's was 0)"},
	} {
		assert.Equal(t, c.want, Fresh(c.psu, c.assumed, c.newest), "%+v", c)
	}
}
