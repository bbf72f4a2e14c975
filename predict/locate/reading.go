package locate

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"sagline/session/problem"
)

// circumstances are what a reading was made in.
type circumstances struct {
	amps      float64 // through the stretch
	ampsShare float64 // one standard deviation of it, as a share
	copperC   float64
	copperSD  float64
	holdSD    float64 // kPa of a hold, as the model has it
}

// What is assumed where a reading does not say: common practice, no source.
const (
	usualC    = 15.0
	usualCSD  = 5.0
	readCSD   = 2.0 // of a temperature that was read: the copper is not all as warm
	leastAmps = 0.1
	holdKPa   = 20.0 // a hold is judged as one of this much vacuum
	holdMin   = 10.0 // in as many minutes
	holdK     = 1.0  // by which a tube's air may cool unseen
	holdReadK = 0.3  // with its temperature read
	airKPa    = 101.325
	airK      = 288.0
)

// asUsual are the circumstances that a reading is expected to be made in.
func (s *Search) asUsual(amps float64) circumstances {
	c := circumstances{amps: amps, ampsShare: s.v.Instruments.CurrentA / amps, copperC: usualC, copperSD: usualCSD,
		holdSD: math.Hypot(gaugeKPa, (airKPa-holdKPa)*holdReadK/airK)}
	if slices.Contains(s.without, "clamp") {
		c.ampsShare = predictedShare
	}
	return c
}

// dimensions are the units that a reading may be given in, by what they measure,
// with their factors to the first of that dimension. Pressure: NIST SP 811
// (2008), appendix B.8.
var dimensions = map[string]struct {
	of     string
	factor float64
}{
	"mV": {"mV", 1}, "V": {"mV", 1000}, "A": {"A", 1}, "mA": {"A", 0.001},
	"mΩ": {"Ω", 0.001}, "mohm": {"Ω", 0.001}, "Ω": {"Ω", 1}, "ohm": {"Ω", 1}, "ohms": {"Ω", 1}, "kΩ": {"Ω", 1e3}, "kohm": {"Ω", 1e3},
	"MΩ": {"Ω", 1e6}, "Mohm": {"Ω", 1e6}, "megohm": {"Ω", 1e6}, "GΩ": {"Ω", 1e9}, "Gohm": {"Ω", 1e9},
	"°C": {"°C", 1}, "C": {"°C", 1}, "°F": {"°F", 1}, "F": {"°F", 1}, "min": {"min", 1}, "h": {"min", 60}, "%": {"", 0.01}, "": {"", 1},
	"kPa": {"kPa", 1}, "mbar": {"kPa", 0.1}, "bar": {"kPa", 100}, "psi": {"kPa", 6.894757}, "inHg": {"kPa", 3.386389},
}

// measured is one number of a reading, or two where it says "a to b".
type measured struct{ from, to float64 }

var (
	oneItem   = regexp.MustCompile(`^[><]?\s*(-?\d*\.?\d+)(?:\s*(?:to|→)\s*(-?\d*\.?\d+))?\s*(\D*)$`)
	separator = regexp.MustCompile(`\s*(?:[,;]|\bat\b)\s*`)
	comma     = regexp.MustCompile(`(\d),(\d)`)
)

// Take takes the reading of a test in: as "182 mV, 5.2 A, 14 °C", "0.31 Ω",
// "yes", or "-20 to -17 kPa, 10 min, 18 to 16 °C". Units may be left out of the
// first.
func (s *Search) Take(test, reading string) error {
	i := slices.IndexFunc(s.Tests, func(t *Test) bool { return strings.EqualFold(t.Name, strings.TrimSpace(test)) })
	if i < 0 {
		names := make([]string, len(s.Tests))
		for k, t := range s.Tests {
			names[k] = t.Name
		}
		return fmt.Errorf("found the test %s, want one of this search%s", problem.Quote(test), problem.Suggest(test, names))
	}
	t := s.Tests[i]
	c, y, err := s.parse(t, reading)
	if err != nil {
		return err
	}
	s.learn(t, &c, y)
	s.Taken = append(s.Taken, Taken{t.Name, reading})
	return nil
}

// parse is a reading as the model has it, and what it was made in.
func (s *Search) parse(t *Test, text string) (c circumstances, y float64, err error) {
	c = s.usual
	if t.method.yesNo {
		switch strings.ToLower(strings.TrimSpace(text)) {
		case "yes", "y", "1":
			return c, 1, nil
		case "no", "n", "0":
			return c, 0, nil
		}
		return c, 0, fmt.Errorf("found %s, want yes or no", problem.Quote(text))
	}
	all, err := t.method.items(text)
	if err != nil {
		return c, 0, err
	}
	if x, ok := all["°C"]; ok {
		c.copperC, c.copperSD = x.to, readCSD
	}
	x := all[t.method.dimension()]
	switch t.method {
	case &millivolts:
		c.ampsShare = predictedShare
		if a, ok := all["A"]; ok {
			c.amps = max(a.to, leastAmps)
			c.ampsShare = s.v.Instruments.CurrentA / c.amps
		}
		return c, math.Abs(x.to) / 1000 / c.amps, nil
	case &insulation:
		return c, math.Log(max(x.to/1e6, 1e-6)), nil
	case &hold:
		return c.held(x, all)
	}
	return c, x.to, nil
}

// held is a hold as one of 20 kPa in 10 minutes: what the pressure fell by beyond
// what the air's temperature makes of it at constant volume (p/T is constant).
func (c circumstances) held(p measured, all map[string]measured) (circumstances, float64, error) {
	minutes, ok := all["min"]
	if !ok || minutes.to <= 0 || p.from == 0 || math.Abs(p.from) > airKPa {
		return c, 0, fmt.Errorf(`want the pressure at both times and the minutes, as "-20 to -17 kPa, 10 min, 18 to 16 °C"`)
	}
	kelvin, sound := holdK, p.from
	if t, ok := all["°C"]; ok {
		kelvin = holdReadK
		sound = (airKPa+p.from)*(273.15+t.to)/(273.15+t.from) - airKPa
	}
	scale := holdKPa / math.Abs(p.from) * holdMin / minutes.to
	fell := sound - p.to
	if p.from < 0 {
		fell = -fell
	}
	c.holdSD = scale * math.Hypot(gaugeKPa, (airKPa+p.from)*kelvin/airK)
	return c, scale * fell, nil
}

// items takes a reading's text apart, by dimension.
func (m *method) items(text string) (map[string]measured, error) {
	out := map[string]measured{}
	for i, item := range separator.Split(strings.TrimSpace(comma.ReplaceAllString(text, "$1.$2")), -1) {
		f := oneItem.FindStringSubmatch(strings.TrimSpace(item))
		if f == nil {
			return nil, m.wrong(item)
		}
		unit := strings.TrimSpace(f[3])
		if unit == "" && i == 0 {
			unit = m.unit
		}
		d, ok := dimensions[unit]
		if ok && d.of == "°F" {
			d.of = "°C"
		}
		if !ok || d.of != m.dimension() && !slices.Contains(m.with, d.of) {
			return nil, m.wrong(item)
		}
		if f[2] == "" {
			f[2] = f[1]
		}
		from, to := number(f[1])*d.factor, number(f[2])*d.factor
		if strings.HasSuffix(unit, "F") {
			from, to = (from-32)/1.8, (to-32)/1.8
		}
		out[d.of] = measured{from, to}
	}
	if _, ok := out[m.dimension()]; !ok {
		return nil, m.wrong(text)
	}
	return out, nil
}

// dimension is the one of a method's own readings.
func (m *method) dimension() string { return dimensions[m.unit].of }

func (m *method) wrong(item string) error {
	want := "a number"
	if m.unit != "" {
		want += " in " + m.unit
	}
	if len(m.with) > 0 {
		want += ", then as known its " + strings.Join(m.with, " and ")
	}
	return fmt.Errorf("found %s, want %s", problem.Quote(item), want)
}

// number reads what the pattern has matched.
func number(s string) float64 {
	x, _ := strconv.ParseFloat(s, 64)
	return x
}
