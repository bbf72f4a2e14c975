package locate

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"sagline/predict/causes"
	"sagline/session"
	"sagline/session/problem"
)

// circumstances are those in which a reading was made.
type circumstances struct {
	amps      float64 // through the stretch
	ampsShare float64 // standard deviation of amps, as a share
	copperC   float64
	copperSD  float64
	holdSD    float64 // kPa, standard deviation of a hold in the model's unit
}

// What is assumed where a reading does not say: common practice, no source.
const (
	typicalC   = 15.0
	typicalCSD = 5.0
	readCSD    = 2.0 // of a temperature that was read: the copper is not equally warm
	leastAmps  = 0.1
	holdKPa    = 20.0 // vacuum to which every hold is scaled
	holdMin    = 10.0 // minutes to which every hold is scaled
	holdK      = 1.0  // by which a tube's air may cool unnoticed
	holdReadK  = 0.3  // the same if its temperature is read
	airKPa     = 101.325
	airK       = 288.0
)

// HoldLimitKPa is the most that a sound tube seems to lose, of 20 kPa in 10 minutes with its
// temperature read: three standard deviations.
var HoldLimitKPa = 3 * math.Hypot(gaugeKPa, (airKPa-holdKPa)*holdReadK/airK)

// typicalAt returns the circumstances assumed where a reading does not give them.
func (s *Search) typicalAt(amps float64) circumstances {
	c := circumstances{amps: amps, ampsShare: s.v.Instruments.CurrentA / amps, copperC: typicalC, copperSD: typicalCSD,
		holdSD: HoldLimitKPa / 3}
	if slices.Contains(s.without, "clamp") {
		c.ampsShare = predictedShare
	}
	return c
}

// Resume takes the search's readings in locate.csv that were made since the last repair and the
// last service that clears the fault. A line that no longer fits the search is returned as a
// problem and does not count.
func (s *Search) Resume(lines []session.LocateLine, log *session.Log) (list problem.List) {
	first := 0
	for i, l := range lines {
		if l.Search == s.Fault && (l.Test == session.Repaired || s.servicedAfter(log, l.AfterDive)) {
			first = i + 1
		}
	}
	for _, l := range lines[first:] {
		if l.Search != s.Fault {
			continue
		}
		if err := s.Take(l.Test, l.Reading); err != nil {
			list.Add(session.LocateFile, l.Line, "", "%v; the line does not count", err)
		}
	}
	return list
}

// cause returns the fault's row of the table.
func (s *Search) cause() *causes.Cause {
	all := causes.Table(s.v)
	return &all[slices.IndexFunc(all, func(c causes.Cause) bool { return c.Name == s.Fault })]
}

// Serviced names the parts to log as serviced when the fault is repaired.
func (s *Search) Serviced() string { return strings.Join(s.cause().Cleared, " or ") }

// servicedAfter reports whether a service that clears the fault was logged after a dive.
func (s *Search) servicedAfter(log *session.Log, dive string) bool {
	c := s.cause()
	return slices.ContainsFunc(log.Dives[log.Find(dive)+1:], func(d session.Dive) bool {
		return slices.ContainsFunc(d.Lines, func(l session.Line) bool { return c.ClearedBy(l.Serviced) })
	})
}

// Typed is Take for a reading that a person types. It rejects millivolts without a unit that could
// be volts of the battery.
func (s *Search) Typed(test, reading string) error {
	alone, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(reading), ",", ".", 1), 64)
	if t := s.test(test); err == nil && t != nil && t.method == &millivolts && alone != 0 && math.Abs(alone) <= s.v.MostV() {
		return fmt.Errorf("found %s, want its unit too: %[2]s mV or %[2]s V", problem.Quote(reading), strings.TrimSpace(reading))
	}
	return s.Take(test, reading)
}

// Take updates the search by a test's reading, such as "182 mV, 5.2 A, 14 °C", "0.31 Ω", "yes", or
// "-20 to -17 kPa, 10 min, 18 to 16 °C". Its error says what is wrong with the test or the reading.
func (s *Search) Take(test, reading string) error {
	t := s.test(test)
	if t == nil {
		names := make([]string, len(s.tests))
		for k, t := range s.tests {
			names[k] = t.Name
		}
		return fmt.Errorf("found the test %s, want one of this search%s", problem.Quote(strings.TrimSpace(test)), problem.OfThese(test, names))
	}
	c, y, err := s.parse(t.method, reading)
	if err != nil {
		return err
	}
	s.taken = append(s.taken, Taken{t.Name, reading, s.learn(t, &c, y) > mostlySlip})
	return nil
}

// test returns the test with a name, nil if the search has none.
func (s *Search) test(name string) *Test {
	for _, t := range s.tests {
		if strings.EqualFold(t.Name, strings.TrimSpace(name)) {
			return t
		}
	}
	return nil
}

// parse returns a reading in the model's unit and its circumstances.
func (s *Search) parse(m *method, text string) (c circumstances, y float64, err error) {
	c = s.typical
	if m.yesNo {
		switch strings.ToLower(strings.TrimSpace(text)) {
		case "yes", "y":
			return c, 1, nil
		case "no", "n":
			return c, 0, nil
		}
		return c, 0, fmt.Errorf("found %s, want yes or no", problem.Quote(text))
	}
	all, err := session.ParseMeasured(text, m.unit, m.with)
	if err != nil {
		return c, 0, err
	}
	if x, ok := all["°C"]; ok {
		c.copperC, c.copperSD = x.To, readCSD
	}
	switch m {
	case &millivolts:
		c.ampsShare = predictedShare
		if a, ok := all["A"]; ok {
			c.amps = max(a.To, leastAmps)
			c.ampsShare = s.v.Instruments.CurrentA / c.amps
		}
		return c, math.Abs(all["mV"].To) / 1000 / c.amps, nil
	case &insulation:
		return c, math.Log(max(all["Ω"].To/1e6, 1e-6)), nil
	case &hold:
		return c.held(all)
	}
	return c, all[m.unit].To, nil
}

// held scales a hold to 20 kPa in 10 minutes: the fall of pressure beyond that of air cooling at
// constant volume (p/T is constant).
func (c circumstances) held(all map[string]session.Measured) (circumstances, float64, error) {
	p, minutes := all["kPa"], all["min"].To
	if minutes <= 0 || p.From == 0 || p.From < -airKPa {
		return c, 0, fmt.Errorf(`want the pressure at both times and the minutes, as "-20 to -17 kPa, 10 min, 18 to 16 °C"`)
	}
	kelvin, sound := holdK, p.From
	if t, ok := all["°C"]; ok {
		kelvin = holdReadK
		sound = (airKPa+p.From)*(273.15+t.To)/(273.15+t.From) - airKPa
	}
	scale := holdKPa / math.Abs(p.From) * holdMin / minutes
	c.holdSD = scale * math.Hypot(gaugeKPa, (airKPa+p.From)*kelvin/airK)
	return c, scale * (sound - p.To) * math.Copysign(1, p.From), nil
}
