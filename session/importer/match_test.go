package importer

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/session"
	"sagline/session/spreadsheet"
)

// What headings become, from the kinds of spreadsheet that people keep; cells
// are given where they decide.
func TestHeadings(t *testing.T) {
	for _, c := range []struct {
		heading     string
		cells       []string
		to          string
		times, plus float64
		sure        string
	}{
		{"battery_v", nil, "battery_v", 1, 0, Sure},
		{"Batt. Voltage (V)", nil, "battery_v", 1, 0, Sure},
		{"BatteryVoltage", nil, "battery_v", 1, 0, Likely},
		{"Akkuspannung [mV]", nil, "battery_v", 0.001, 0, Sure},
		{"Spannung / V", nil, "battery_v", 1, 0, Sure},
		{"Volts", nil, "battery_v", 1, 0, Sure},
		{"Strom [mA]", nil, "current_a", 0.001, 0, Sure},
		{"Current draw, A", nil, "current_a", 1, 0, Sure},
		{"Amps", nil, "current_a", 1, 0, Sure},
		{"ROV volts (V)", nil, "vehicle_v", 1, 0, Sure},
		{"Depth/ft", nil, "depth_ft", 1, 0, Sure},
		{"Depth (cm)", nil, "depth_m", 0.01, 0, Sure},
		{"Tiefe in m", nil, "depth_m", 1, 0, Sure},
		{"Max depth (m)", nil, "depth_m", 1, 0, Likely},
		{"Depth", []string{"3.5"}, "?", 1, 0, Asked},
		{"Depth", []string{"3.5 m", "12 ft"}, "depth_m", 1, 0, Sure},
		{"Temp °F", nil, "water_f", 1, 0, Sure},
		{"Wassertemperatur (°C)", nil, "water_c", 1, 0, Sure},
		{"Motor temp (°C)", nil, "?", 1, 0, Asked},
		{"time (mm:ss)", nil, "minute", 1, 0, Sure},
		{"Time (s)", nil, "minute", 1.0 / 60, 0, Sure},
		{"t [ms]", nil, "minute", 1e-3 / 60, 0, Sure},
		{"Time", []string{"14:05", "14:09"}, "time", 1, 0, Likely},
		{"Time", []string{"0:00", "0:30"}, "?", 1, 0, Asked},
		{"Time", []string{"0.1", "0.2"}, "?", 1, 0, Asked},
		{"time", []string{"0.1", "0.2"}, "?", 1, 0, Asked},
		{"time", []string{"14:05"}, "time", 1, 0, Sure},
		{"Timestamp", []string{"2026-05-31T14:05:00.25Z"}, "date time", 1, 0, Sure},
		{"Datum", []string{"31.5.2026"}, "date", 1, 0, Sure},
		{"TG Nr.", nil, "dive", 1, 0, Sure},
		{"Run time (s)", nil, "run_s", 1, 0, Sure},
		{"Run (ft)", nil, "run_ft", 1, 0, Sure},
		{"Time back (s)", nil, "run_back_s", 1, 0, Sure},
		{"Speed (km/h)", nil, "speed_m_s", 1 / 3.6, 0, Sure},
		{"Boat speed [kn]", nil, "speed_kn", 1, 0, Sure},
		{"Ascent rate (m/min)", nil, "climb_m_s", 1.0 / 60, 0, Sure},
		{"Bollard pull (kg)", nil, "pull_kgf", 1, 0, Sure},
		{"Pull (lb)", nil, "pull_lbf", 1, 0, Sure},
		{"Buoyancy (g)", nil, "trim_g", 1, 0, Sure},
		{"Ballast added (kg)", nil, "ballast_g", 1000, 0, Sure},
		{"Loop resistance [mΩ]", nil, "loop_ohm", 0.001, 0, Sure},
		{"Insulation (MΩ)", nil, "insulation_megohm", 1, 0, Sure},
		{"Salinity (ppt)", nil, "salinity_psu", 1, 0, Sure},
		{"Motors running", nil, "thrusters", 1, 0, Sure},
		{"Thrusters", nil, "thrusters", 1, 0, Sure},
		{"Was lief", nil, "thrusters", 1, 0, Sure},
		{"Was läuft", nil, "thrusters", 1, 0, Sure},
		{"Uhr", []string{"14:05"}, "time", 1, 0, Likely},
		{"U unten", nil, "vehicle_v", 1, 0, Likely},
		{"What ran", nil, "thrusters", 1, 0, Sure},
		{"Thrust (N)", nil, "pull_n", 1, 0, Sure},
		{"Geschw. (m/s)", nil, "speed_m_s", 1, 0, Sure},
		{"Vel. (nudos)", nil, "speed_kn", 1, 0, Sure},
		{"Time for 10 m [s]", nil, "run_s / run_m = 10", 1, 0, Likely},
		{"Zeit 10 m", nil, "run_s / run_m = 10", 1, 0, Likely},
		{"Temps sur 7,5 m (s)", nil, "run_s / run_m = 7.5", 1, 0, Likely},
		{"30-ft run, s", nil, "run_s / run_ft = 30", 1, 0, Likely},
		{"Run 11 yd [min]", nil, "run_s in min / run_m = 10.0584", 1, 0, Likely},
		{"Minuto", nil, "minute", 1, 0, Sure},
		{"Minutos", nil, "minute", 1, 0, Sure},
		{"Steigen (m/s)", nil, "climb_m_s", 1, 0, Sure},
		{"Subida (m/s)", nil, "climb_m_s", 1, 0, Sure},
		{"Steigen (m)", nil, "climb_m", 1, 0, Sure},
		{"s per 20 ft", nil, "run_s / run_ft = 20", 1, 0, Likely},
		{"sec/20 ft", nil, "run_s / run_ft = 20", 1, 0, Likely},
		{"Run (s per 20 ft)", nil, "run_s / run_ft = 20", 1, 0, Likely},
		{"s/10 m", nil, "run_s / run_m = 10", 1, 0, Likely},
		{"Sek. je 10 m", nil, "run_s / run_m = 10", 1, 0, Likely},
		{"secondes par 10 m", nil, "run_s / run_m = 10", 1, 0, Likely},
		{"seconds per 10 m climb", nil, "climb_s / climb_m = 10", 1, 0, Likely},
		{"s per 20 ft back", nil, "run_back_s", 1, 0, Likely},
		{"10 m [s]", nil, "run_s / run_m = 10", 1, 0, Likely},
		{"Time back, 10 m (s)", nil, "run_back_s", 1, 0, Likely},
		{"Climb time 3 m (s)", nil, "climb_s / climb_m = 3", 1, 0, Likely},
		{"Time at 10 m [s]", nil, "?", 1, 0, Asked},
		{"Speed over 10 m (m/s)", nil, "speed_m_s", 1, 0, Likely},
		{"Volts at 10 m", nil, "?", 1, 0, Asked},
		{"Bemerkung", nil, "note", 1, 0, Sure},
		{"V am Boot", nil, "vehicle_v", 1, 0, Likely},
		{"Spannung am Boot (V)", nil, "vehicle_v", 1, 0, Sure},
		{"Tension bateau (V)", nil, "vehicle_v", 1, 0, Sure},
		{"Longueur parcourue (m)", nil, "run_m", 1, 0, Sure},
		{"Durée aller (s)", nil, "run_s", 1, 0, Sure},
		{"Durée retour (s)", nil, "run_back_s", 1, 0, Sure},
		{"zurück [s]", nil, "run_back_s", 1, 0, Sure},
		{"Gewartet", nil, "serviced", 1, 0, Sure},
		{"Pilot", nil, "note", 1, 0, Likely},
		{"Weather", nil, "note", 1, 0, Sure},
		{"", nil, "note", 1, 0, Likely},
		{"Battery", []string{"A", "B"}, "battery", 1, 0, Likely},
		{"Akku", []string{"alt", "neu", ""}, "battery", 1, 0, Likely},
		{"Battery used", []string{"grey"}, "battery", 1, 0, Sure},
		{"Battery", []string{"12.6", "low"}, "battery_v", 1, 0, Likely},
		{"Battery", nil, "battery_v", 1, 0, Likely},
		{"battery", []string{"A", "B"}, "battery", 1, 0, Sure},
		{"battery", []string{"12.6", "12.5"}, "battery_v", 1, 0, Likely},
		{"Battery no.", []string{"1"}, "battery", 1, 0, Sure},
	} {
		m := match(spreadsheet.ReadHeading(c.heading), c.cells)
		to := m.To
		if !strings.Contains(to, partTargets) {
			to, _, _ = strings.Cut(to, inUnit)
		}
		assert.Equal(t, c.to, to, "%q: %s", c.heading, m.Why)
		assert.Equal(t, c.sure, m.Sure, "%q: %s", c.heading, m.Why)
		times, plus := m.Factors()
		if m.Sure == Asked || strings.Contains(m.To, partTargets) {
			times, plus = 1, 0
		}
		assert.InDelta(t, c.times, times, 1e-11, c.heading)
		assert.InDelta(t, c.plus, plus, 1e-9, c.heading)
	}
}

// Every column's own name is understood as itself.
func TestEveryColumnsOwnName(t *testing.T) {
	for _, c := range session.Columns() {
		m := match(spreadsheet.ReadHeading(c.Name), nil)
		assert.Equal(t, c.Name, m.To)
		times, plus := m.Factors()
		assert.Equal(t, 1.0, times, c.Name)
		assert.Zero(t, plus, c.Name)
	}
}

func TestTwoHeadingsForOneColumn(t *testing.T) {
	all := []Match{match(spreadsheet.ReadHeading("Battery (V)"), nil), match(spreadsheet.ReadHeading("Akku (V)"), nil), match(spreadsheet.ReadHeading("Max depth (m)"), nil),
		match(spreadsheet.ReadHeading("Depth (ft)"), nil), match(spreadsheet.ReadHeading("Notes"), nil), match(spreadsheet.ReadHeading("Comments"), nil)}
	oneEach(all)
	assert.Equal(t, Asked, all[0].To)
	assert.Equal(t, Asked, all[1].To)
	assert.Contains(t, all[0].Why, `"Battery (V)" and "Akku (V)" mean the same: battery_v or note?`)
	assert.Equal(t, "note", all[2].To, "the surer one is taken")
	assert.Contains(t, all[2].Why, `"Depth (ft)" gives depth_ft more surely`)
	assert.Equal(t, "depth_ft", all[3].To)
	assert.Equal(t, []string{"note", "note"}, []string{all[4].To, all[5].To}, "notes are joined")
}
