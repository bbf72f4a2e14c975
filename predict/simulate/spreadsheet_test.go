package simulate

import (
	"encoding/csv"
	"fmt"
	"io"
	"strings"
	"time"

	"golang.org/x/text/encoding/charmap"

	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// writeSpreadsheet writes a season as an invented club's old spreadsheet might
// export it: other headings, feet and milliamperes, decimal commas, days
// before months, a line on top, and not in Unicode.
func writeSpreadsheet(w io.Writer, v *vehicle.Vehicle, s Season) error {
	enc := charmap.Windows1252.NewEncoder().Writer(w)
	if _, err := io.WriteString(enc, "Simulated: an invented club's spreadsheet\r\n\r\n"); err != nil {
		return err
	}
	out := csv.NewWriter(enc)
	out.Comma, out.UseCRLF = ';', true
	rows := [][]string{{"Dive no", "Date", "Clock (hh:mm)", "Motors", "Tied up", "Batt. Voltage (V)", "Strom [mA]", "Volts at ROV (V)", "Depth/ft", "Temp °F",
		"Speed (km/h)", "Climb (cm/s)", "Hover weight (oz)", "Pull (lb)", "Pilot", "Remarks"}}
	for _, d := range Log(v, s).Dives {
		for i := range d.Lines {
			rows = append(rows, spreadsheetRow(&d, i))
		}
	}
	return out.WriteAll(rows)
}

func spreadsheetRow(d *session.Dive, i int) []string {
	l := &d.Lines[i]
	number := func(v session.Value, per float64, decimals int) string {
		if !v.Measured() {
			return ""
		}
		return strings.Replace(fmt.Sprintf("%.*f", decimals, v.X/per), ".", ",", 1)
	}
	row := []string{"", "", time.Time{}.Add(10*time.Hour + time.Duration(l.Minute.X)*time.Minute).Format("15:04"), motors(l), "",
		number(l.Readings[quantity.BatteryV], 1, 2), number(l.Readings[quantity.CurrentA], 0.001, 0), number(l.Readings[quantity.VehicleV], 1, 2), number(l.Depth, 0.3048, 1), "",
		number(l.Readings[quantity.Speed], 1/3.6, 2), number(l.Readings[quantity.Climb], 0.01, 1), number(l.Readings[quantity.Trim], 28.349523125, 1),
		number(l.Readings[quantity.Pull], 4.4482216152605, 2), "A", ""}
	if i == 0 {
		row[0], row[1], row[15] = d.Label, d.Date.Format("02.01.2006"), "simulated"
		row[9] = strings.Replace(fmt.Sprintf("%.1f", l.WaterC.X*9/5+32), ".", ",", 1)
	}
	if l.Held {
		row[4] = "x"
	}
	return row
}

// motors is how that club writes which thrusters ran.
func motors(l *session.Line) string {
	if len(l.Drives) == 0 {
		return "none"
	}
	words := make([]string, len(l.Drives))
	for i, d := range l.Drives {
		words[i] = map[string]string{"port": "left", "starboard": "right", "vertical": "up"}[d.Name]
		if d.Reversed {
			words[i] += " rev"
		}
	}
	return strings.Join(words, " & ")
}
