package audit

import (
	"fmt"
	"slices"
	"strings"

	"sagline/predict/causes"
	"sagline/predict/fit"
	"sagline/predict/vehicle"
	"sagline/session/units"
)

// surelyApart is the probability that the vehicle never was as its file says from which the cause
// that acted on it is reported; worthNaming is the probability from which an alternative to that
// cause is named: common practice, no source.
const (
	surelyApart = 0.95
	worthNaming = 0.1
)

// toldFromStart returns the cause that has acted since before the first dive, nil if none is
// reported.
func toldFromStart(r *fit.Result) *causes.Cause {
	sure := 0.0
	for i := range r.FromStart {
		sure += r.FromStart[i].Probability
	}
	if sure < surelyApart {
		return nil
	}
	return r.FromStart[0].Cause // nil if it is a key
}

// fromStart adds to the mismatches of keys the cause that has acted since before the first dive. If
// one of them is of that cause, it adds the alternatives to its text.
func fromStart(r *fit.Result, ofKeys []Mismatch) []Mismatch {
	first := toldFromStart(r)
	if first == nil {
		return ofKeys
	}
	orElse := ""
	if others := othersFromStart(r, ""); len(others) > 0 {
		orElse = ", or else " + strings.Join(others, ", or ")
	}
	path := pathOf(r, first)
	if slices.ContainsFunc(mismatches, func(m mismatchOf) bool { return m.isOf(first) }) {
		if at := slices.IndexFunc(ofKeys, func(m Mismatch) bool { return m.Path == path }); at >= 0 {
			ofKeys[at].Text = strings.TrimSuffix(ofKeys[at].Text, "?") + orElse + "?"
		}
		return ofKeys // nothing was said of a key that is left out
	}
	if key := leftOut(r); key != "" {
		return append(ofKeys, Mismatch{Path: key, Text: fmt.Sprintf("the file leaves it out, and the first dives read as with another than is assumed, or else with %s: write it down as a test reads it; if it is as assumed, %s", strings.Join(append([]string{amountOf(r, &r.FromStart[0])}, othersFromStart(r, key)...), ", or "), first.Check)})
	}
	return append(ofKeys, Mismatch{Path: path, Text: fmt.Sprintf("the first dives read as with %s%s: %s", amountOf(r, &r.FromStart[0]), orElse, first.Check)})
}

// leftOut returns the key that may explain the first dives and that the file leaves out, "" if none
// does. A fault is less likely than a motor that is not as assumed.
func leftOut(r *fit.Result) string {
	for _, s := range r.FromStart[1:] {
		if s.Key != nil && s.Probability >= worthNaming && r.Models[0].Vehicle.Belief(s.Key.Paths[0]).Origin == vehicle.Prior {
			return s.Key.Paths[0]
		}
	}
	return ""
}

// isOf reports whether a row of mismatches covers a cause.
func (m *mismatchOf) isOf(c *causes.Cause) bool {
	return c.Name == m.cause || m.param >= 0 && c.Param() == m.param
}

// othersFromStart words the alternatives, causes and keys, without their probabilities: errors of
// the file that look different are not weighed. A key with the path but is left out.
func othersFromStart(r *fit.Result, but string) (out []string) {
	v := r.Models[0].Vehicle
	for _, s := range r.FromStart[1:] {
		if s.Probability < worthNaming || s.Key != nil && s.Key.Paths[0] == but {
			continue
		}
		said := ""
		if s.Cause != nil {
			said = amountOf(r, &s)
		} else if path := s.Key.Paths[0]; v.Belief(path).Origin == vehicle.Prior {
			said = fmt.Sprintf("another %s than is assumed", path)
		} else {
			said = fmt.Sprintf("another %s than the file says", path)
		}
		if !slices.Contains(out, said) {
			out = append(out, said)
		}
	}
	return out
}

// pathOf returns the path of the key to look at; of a key that all thrusters have, the first one's.
func pathOf(r *fit.Result, c *causes.Cause) string {
	return strings.Replace(c.Key, "*", r.Models[0].Vehicle.Thrusters[0].Name, 1)
}

// amountOf words a cause and by how much it has acted; for the battery, its whole resistance.
func amountOf(r *fit.Result, s *fit.FromStart) string {
	c := s.Cause
	if c.Fails.Jam() {
		return "a " + c.Words
	}
	x, sound := s.Amplitude, 0.0
	if c.Scale.Absolute {
		x, sound = 0, r.SoundOf(c.Param())
	}
	u := r.Models[0].Vehicle.Units.In(c.Scale.Unit)
	return strings.TrimSpace(fmt.Sprintf("%s %s %s", c.Words, units.Digits(u.FromBase(c.Scale.Show(x, sound)), 2), u.Name))
}
