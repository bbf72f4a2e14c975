package main

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"pgregory.net/rapid"

	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/units"
)

// drawnThrusters are those that drawn vehicles have, the first few of them.
var drawnThrusters = []string{"port", "starboard", "vertical", "é ü"}

// accepted finds the range in what a row of the table of keys accepts.
var accepted = regexp.MustCompile(`(-?[\d.e+]+) to (-?[\d.e+]+)`)

// sizes are the keys of a conductor of which a file has one.
var sizes = []string{"awg", "area_mm2", "ohm_km"}

// aVehicleFile draws a vehicle.toml by the table of keys: each left out, as
// usual, anywhere in the range that is accepted, at one of its ends, or a range
// of its own. Most drawn files are sound, since few of a file's keys are unusual.
func aVehicleFile(t *rapid.T) string {
	sections, of := []string{""}, map[string][]string{}
	unusual := rapid.IntRange(0, 30).Draw(t, "unusual keys in a hundred")
	size := map[string]string{"tether.power": rapid.SampledFrom(sizes).Draw(t, "power"), "tether.signal": rapid.SampledFrom(append([]string{""}, sizes...)).Draw(t, "signal")}
	tables := map[string][]string{"thruster": drawnThrusters[:rapid.IntRange(1, len(drawnThrusters)).Draw(t, "thrusters")],
		"tube": []string{"frame"}[:rapid.IntRange(0, 1).Draw(t, "tubes")], "tether.floats": []string{"1"}[:rapid.IntRange(0, 1).Draw(t, "floats")]}
	for _, k := range vehicle.Example().Table() {
		table, name, many := strings.Cut(k.Key, ".NAME.")
		if !many {
			i := max(0, strings.LastIndexByte(k.Key, '.'))
			table, name = k.Key[:i], strings.TrimPrefix(k.Key[i:], ".")
		}
		if want, one := size[table]; one && (slices.Contains(sizes, name) && name != want || want == "") {
			continue
		}
		for i := range max(1, len(tables[table])) {
			if many && len(tables[table]) == 0 {
				break
			}
			section := table
			if many {
				section = fmt.Sprintf("%s#%d", table, i)
			}
			if !slices.Contains(sections, section) {
				sections = append(sections, section)
			}
			of[section] = append(of[section], aKey(t, k, name, tables[table], i, unusual, k.Required || name == size[table])...)
		}
	}
	var b strings.Builder
	for _, s := range sections {
		switch table, _, many := strings.Cut(s, "#"); {
		case many:
			b.WriteString("[[" + table + "]]\n")
		case s != "" && len(of[s]) > 0:
			b.WriteString("[" + s + "]\n")
		}
		for _, line := range of[s] {
			b.WriteString(line + "\n")
		}
	}
	if rapid.IntRange(0, 2).Draw(t, "rebuilt") == 0 {
		fmt.Fprintf(&b, "[[change]]\ndive = \"%d\"\n%s\n", rapid.IntRange(1, 11).Draw(t, "from"), rapid.SampledFrom(rebuilds).Draw(t, "what"))
	}
	return b.String()
}

// rebuilds are what a drawn vehicle's [[change]] sets.
var rebuilds = []string{`"tether.length_m" = 17`, `"tether.power.area_mm2" = [1, 6]`, `"thruster.port.prop_pitch_mm" = [30, 60]`, `"battery.resistance_ohm" = 0.1`, `"hull.trim_g" = 10`}

// aKey draws the line of one key, none where it is left out.
func aKey(t *rapid.T, k vehicle.Row, name string, names []string, i, unusual int, needed bool) []string {
	odd := rapid.IntRange(0, 99).Draw(t, k.Key) < unusual
	switch {
	case k.Key == "thruster.NAME.name":
		return []string{fmt.Sprintf("name = %q", names[i])}
	case k.Key == "thruster.NAME.arm_mm" && !odd:
		return []string{fmt.Sprintf("arm_mm = %d", []int{-160, 160, 0, 0}[i])}
	case !needed && !odd && rapid.IntRange(0, 2).Draw(t, "has") > 0:
		return nil
	case strings.HasPrefix(k.Accepted, "a text"):
		return []string{fmt.Sprintf("%s = %q", name, rapid.SampledFrom([]string{"any", "Ä \"quoted\" name", "x"}).Draw(t, "text"))}
	case len(k.Words) > 0:
		return []string{fmt.Sprintf("%s = %q", name, rapid.SampledFrom(k.Words).Draw(t, "word"))}
	case strings.HasPrefix(k.Accepted, "true"):
		return []string{name + " = " + strconv.FormatBool(rapid.Bool().Draw(t, "true"))}
	}
	m := accepted.FindStringSubmatch(k.Accepted)
	low, _ := strconv.ParseFloat(m[1], 64)
	high, _ := strconv.ParseFloat(m[2], 64)
	number := func(x float64) string { return strconv.FormatFloat(min(max(x, low), high), 'g', 4, 64) }
	if strings.HasPrefix(k.Accepted, "a whole") {
		number = func(x float64) string { return strconv.Itoa(int(min(max(x, low), high))) }
	}
	value := number(aNumber(t, k, low, high, odd))
	switch {
	case strings.HasPrefix(k.Accepted, "a list"):
		value = "[" + value + "]"
	case strings.Contains(k.Accepted, "or its range") && rapid.IntRange(0, 4).Draw(t, "range") == 0:
		x, _ := strconv.ParseFloat(value, 64)
		y, _ := strconv.ParseFloat(number(aNumber(t, k, low, high, odd)), 64)
		if x < y && (x > 0 || low <= 0) {
			value = "[" + value + ", " + number(y) + "]"
		}
	}
	return []string{name + " = " + value}
}

// aNumber draws a key's value: as usual, or if odd anywhere in its range or at
// one of its ends.
func aNumber(t *rapid.T, k vehicle.Row, low, high float64, odd bool) float64 {
	at := rapid.Float64Range(0, 1).Draw(t, "at")
	switch {
	case odd && rapid.Bool().Draw(t, "at an end"):
		return rapid.SampledFrom([]float64{low, high}).Draw(t, "end")
	case odd && low > 0:
		return low * math.Pow(high/low, at)
	case odd:
		return low + at*(high-low)
	case k.Low != nil && *k.Low > 0:
		return *k.Low * math.Pow(*k.High / *k.Low, at)
	case k.Low != nil:
		return *k.Low + at*(*k.High-*k.Low)
	}
	usual, known := map[string]float64{"battery.nominal_v": 12, "tether.length_m": 30, "tether.power.awg": 14, "tether.power.area_mm2": 2, "tether.power.ohm_km": 8,
		"tether.signal.awg": 20, "tether.signal.area_mm2": 0.5, "tether.signal.ohm_km": 33}[k.Key]
	if !known {
		usual = math.Sqrt(max(low, 1e-3*high) * high)
	}
	return usual * (0.8 + 0.4*at)
}

// aLogFile draws a dives.csv of a few dives in any columns, its readings
// anywhere that a column takes them, its ends included.
func aLogFile(t *rapid.T) string {
	var columns []*session.Column
	seen := map[string]bool{}
	all := session.Columns()
	for _, i := range rapid.Permutation(indices(len(all))).Draw(t, "columns") {
		if c := all[i]; !seen[c.Quantity] && (c.Name == "dive" || c.Name == "date" || rapid.IntRange(0, 2).Draw(t, "has") > 0) {
			columns = append(columns, c)
			seen[c.Quantity] = true
		}
	}
	separator := rapid.SampledFrom([]string{",", ";", "\t"}).Draw(t, "separator")
	var b strings.Builder
	row := func(cell func(*session.Column) string) {
		cells := make([]string, len(columns))
		for i, c := range columns {
			if cells[i] = cell(c); strings.ContainsAny(cells[i], separator+"\"\n") {
				cells[i] = `"` + strings.ReplaceAll(cells[i], `"`, `""`) + `"`
			}
		}
		b.WriteString(strings.Join(cells, separator) + "\n")
	}
	row(func(c *session.Column) string { return c.Name })
	unusual := rapid.IntRange(0, 20).Draw(t, "unusual cells in a hundred")
	for d := range rapid.IntRange(0, 9).Draw(t, "dives") {
		minutes := rapid.Bool().Draw(t, "minutes")
		for i := range rapid.IntRange(1, 6).Draw(t, "lines") {
			timed := map[string]bool{"run": rapid.Bool().Draw(t, "run"), "climbed": rapid.Bool().Draw(t, "climbed")}
			row(func(c *session.Column) string { return aCell(t, c, seen, timed, minutes, d, i, unusual) })
		}
	}
	return b.String()
}

func indices(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

// aCell draws a cell of a line: empty, as usual, or if unusual anywhere in its
// column's range or at one of its ends.
func aCell(t *rapid.T, c *session.Column, has, timed map[string]bool, minutes bool, dive, line, unusual int) string {
	text := map[string]func() string{
		"dive": func() string { return fmt.Sprint(dive + 1) },
		"date": func() string { return map[bool]string{true: fmt.Sprintf("2026-05-%02d", dive+1)}[line == 0] },
		"battery": func() string {
			return map[bool]string{true: rapid.SampledFrom([]string{"", "A", "B"}).Draw(t, "battery")}[line == 0]
		},
		"thrusters": func() string {
			return rapid.SampledFrom([]string{"", "off", "port", "port", "port astern"}).Draw(t, "ran")
		},
		"lights": func() string { return rapid.SampledFrom([]string{"", "", "on", "off"}).Draw(t, "lights") },
		"held":   func() string { return rapid.SampledFrom([]string{"", "", "yes", "no"}).Draw(t, "held") },
		"serviced": func() string {
			return rapid.SampledFrom(append([]string{"", "", "", "", "seal+propeller"}, session.Serviceable...)).Draw(t, "part")
		},
		"note": func() string {
			return rapid.SampledFrom([]string{"", "calm", "a, \"b\"; c\nd", "=1+1", "# no comment"}).Draw(t, "note")
		},
		"clock": func() string {
			return map[bool]string{true: fmt.Sprintf("%02d:%02d", 20+line/2, 20*(line%2))}[!minutes]
		},
		"minute": func() string { return map[bool]string{true: fmt.Sprint(3 * line)}[minutes || !has["clock"]] },
	}
	if draw, ok := text[c.Quantity]; ok {
		return draw()
	}
	runs := has["run"] && has["run time"] && timed["run"]
	climbs := has["climbed"] && has["climb time"] && timed["climbed"]
	needed := false
	switch c.Quantity {
	case "run", "run time":
		needed = runs
	case "climbed", "climb time":
		needed = climbs
	}
	switch {
	case c.Quantity == "run back" && !runs, c.Quantity == "speed_m_s" && runs, c.Quantity == "climb_m_s" && climbs, !needed && rapid.IntRange(0, 9).Draw(t, "how") < 3:
		return ""
	case strings.HasPrefix(c.Quantity, "run") && !runs, strings.HasPrefix(c.Quantity, "climb") && c.Quantity != "climb_m_s" && !climbs:
		return ""
	}
	return number(t, c, unusual)
}

// usualReadings are what cells usually hold, in the base unit.
var usualReadings = map[string]float64{"battery_v": 12.5, "vehicle_v": 9, "current_a": 8, "depth": 4, "tether": 12, "speed_m_s": 0.5, "climb_m_s": 0.1, "trim_g": 60, "pull_n": 9,
	"loop_ohm": 0.4, "insulation_megohm": 20, "water": 12, "salinity": 10, "ballast": 50, "run": 10, "run time": 20, "run back": 21, "climbed": 2, "climb time": 20}

func number(t *rapid.T, c *session.Column, unusual int) string {
	at := rapid.Float64Range(0, 1).Draw(t, "at")
	timed := strings.HasPrefix(c.Quantity, "run") || c.Quantity == "climbed" || c.Quantity == "climb time" // whose speed has a limit of its own
	switch odd := rapid.IntRange(0, 99).Draw(t, c.Name) < unusual && !timed; {
	case odd && rapid.Bool().Draw(t, "at an end"):
		return strconv.FormatFloat(rapid.SampledFrom([]float64{c.Lowest, c.Highest}).Draw(t, "end"), 'f', -1, 64)
	case odd:
		return fmt.Sprintf("%.7g", c.Lowest+(c.Highest-c.Lowest)*(0.0001+0.9998*at))
	}
	x := units.Find(c.Unit).FromBase(usualReadings[c.Quantity] * (0.8 + 0.4*at))
	return strconv.FormatFloat(x, 'f', 3, 64)
}
