package vehicle

import (
	"math"
	"slices"
)

// Z95 is the number of standard deviations to either side that hold 95 % of a normal distribution.
// Every 95 % range has that width.
const Z95 = 1.959963984540054

// Origin tells where a value comes from.
type Origin int

// The origins.
const (
	Prior  Origin = iota // left out
	Range                // given as [low, high]
	Given                // given
	Learnt               // written by the tool: the log's own readings stand behind it
)

// String returns the origin in a word.
func (o Origin) String() string { return [...]string{"prior", "range", "file", "learnt"}[o] }

// A Belief is what the file and the table of keys say about one number.
type Belief struct {
	Path      string // as Set takes it
	Key       string // in the table: thruster.*.test_a
	Doubt     string // name by which Varied moves it
	OfAxis    string // name by which Varied moves it for what thrusters of its axis have of their own; "": nothing
	Value, SD float64
	Log       bool    // SD is of ln(value)
	Residual  float64 // SD of a prior if the keys of its formula were known; else SD
	Tolerance float64 // SD, of ln(value) where Log, that a given value would have
	Low, High float64 // 95 %
	Least     float64 // lowest and
	Most      float64 // highest value that a file may state
	Origin    Origin
	Source    string
}

// Belief returns what is known of a number by its path as Set takes it, such as
// "thruster.port.armature_ohm". The Belief has no Path if the vehicle has no such number.
func (v *Vehicle) Belief(path string) Belief {
	k, i, err := v.find(path)
	if err != nil || !k.numeric() {
		return Belief{}
	}
	return v.named(v.belief(k, i), k, i)
}

// named adds path, key and doubt to a belief.
func (v *Vehicle) named(b Belief, k *key, i int) Belief {
	b.Path, b.Key, b.Doubt, b.OfAxis = v.path(k, i), k.path, v.doubt(k, i), v.ofAxis(k, i)
	return b
}

// axisSD is one standard deviation of ln(test_a) of the thrusters of another axis than the first's, in
// a file that leaves it out everywhere: the vertical one is often a smaller one. Common practice, no
// source. With all alike, 49 of 50 simulated logs of vehicles whose vertical motor takes two thirds
// of the others' current were said to have a bad contact there from the start.
const axisSD = 0.3

// ofAxis names the unknown by which thrusters of an axis differ from the first in a key, "" if none.
func (v *Vehicle) ofAxis(k *key, i int) string {
	if k.path != testAPath || v.Thrusters[i].Axis == v.Thrusters[0].Axis {
		return ""
	}
	for j := range v.Thrusters {
		if v.isStated(k, j) {
			return ""
		}
	}
	return k.path + " of " + v.Thrusters[i].Axis
}

// LeftOut ends the Doubt of a key that one thruster leaves out and another states.
const LeftOut = ", left out"

// doubt names the unknown behind a key's value. All thrusters share it, since builders buy and test
// them alike; but those that leave out what another states share one of their own.
func (v *Vehicle) doubt(k *key, i int) string {
	if !v.isStated(k, i) {
		for j := range v.count(k) {
			if v.isStated(k, j) {
				return k.path + LeftOut
			}
		}
	}
	return k.path
}

// priorBelief returns the Belief that a key would have if the file left it out.
func (v *Vehicle) priorBelief(k *key, i int) Belief {
	w := v.Clone()
	if w.stated == nil {
		w.stated = map[keyElement]stated{}
	}
	delete(w.stated, k.at(i))
	if k.prior.median != nil {
		w.put(k, i, k.bounded(k.assumed(w, i)))
	}
	return w.belief(k, i)
}

// Unlearnt returns the vehicle as its owner wrote it, without what the tool has written into the
// file from readings, so that a fit of those readings does not count them twice.
func (v *Vehicle) Unlearnt() *Vehicle {
	w, any := v.Clone(), false
	for at, s := range v.stated {
		if !s.learnt {
			continue
		}
		any = true
		k, i := at.parts()
		switch before, ok := k.number(s.before); {
		case ok:
			w.stated[at] = before
			w.put(k, i, k.middle(before))
		default:
			delete(w.stated, at)
			if k.prior.median == nil { // nothing is assumed where it is left out
				w.put(k, i, 0)
			}
		}
	}
	if any {
		w.fill()
		w.Units = v.Units // which --units may have set
	}
	return w
}

// isNone reports whether a prior means that the vehicle has no such thing, such as relays or a
// signal pair.
func (b *Belief) isNone(k *key) bool {
	return b.Origin == Prior && b.Value == 0 && (k.prior.median == nil || k.prior.spread.log)
}

// Beliefs returns the Beliefs of all numbers of the vehicle in the file's order; of a conductor's
// sizes only the one stated.
func (v *Vehicle) Beliefs() (out []Belief) {
	v.each(func(k *key, i int) {
		if !k.numeric() {
			return
		}
		if b := v.belief(k, i); !b.isNone(k) {
			out = append(out, v.named(b, k, i))
		}
	})
	return out
}

// isStated reports whether the file or Set states a key; in a vehicle made in code, whether it is
// not 0.
func (v *Vehicle) isStated(k *key, i int) bool {
	if v.stated == nil {
		return v.get(k, i) != 0
	}
	_, ok := v.stated[k.at(i)]
	return ok
}

func (v *Vehicle) belief(k *key, i int) Belief {
	x := v.get(k, i)
	b := Belief{Value: x, Source: FileName, Least: k.low, Most: k.high}
	s := v.stated[k.at(i)]
	switch {
	case !v.isStated(k, i):
		b.Source, b.Log, b.Residual = k.prior.source, k.prior.spread.log && x > 0, k.prior.spread.sd
		if _, ok := v.ofOthers(k, i); ok {
			b.Source = "as the other thrusters have it; " + practice
		}
		b.SD = math.Hypot(b.Residual, v.spreadOfFormula(k, i))
		if v.ofAxis(k, i) != "" {
			b.SD = math.Hypot(b.SD, axisSD)
		}
		if b.isNone(k) {
			b.SD, b.Residual = 0, 0
		}
	case s.low < s.high:
		b.Origin, b.Log, b.SD = Range, k.scale(s.low), (s.high-s.low)/2/Z95
		if b.Log {
			b.SD = math.Log(s.high/s.low) / 2 / Z95
		}
	default:
		b.Origin, b.Log, b.SD = Given, k.tol.log, k.tol.sd
		if b.Log && x <= 0 { // stated to be none
			b.Log, b.SD = false, 0
		}
	}
	if s.learnt {
		b.Origin = Learnt
	}
	if b.Origin != Prior {
		b.Residual = b.SD
	}
	b.Tolerance = k.tol.in(b.Log, x)
	b.Low, b.High = max(b.At(-Z95), min(x, k.low)), min(b.At(Z95), max(x, k.high))
	return b
}

// in returns the spread's standard deviation of ln(x) if log is set, else of x.
func (s spread) in(log bool, x float64) float64 {
	switch {
	case log && !s.log:
		return s.sd / math.Abs(x)
	case s.log && !log:
		return s.sd * math.Abs(x)
	}
	return s.sd
}

// At returns the value z standard deviations above the middle.
func (b *Belief) At(z float64) float64 {
	if b.Log {
		return b.Value * math.Exp(z*b.SD)
	}
	return b.Value + z*b.SD
}

// spreadOfFormula returns the standard deviation that a prior has from the keys of its formula,
// taken as independent. It skips a key that is itself a prior and stands after k: that one is a
// formula of k.
func (v *Vehicle) spreadOfFormula(k *key, i int) float64 {
	const step = 0.01 // of a standard deviation
	sum := 0.0
	for _, path := range k.prior.from {
		from := byPath[path]
		if !v.isStated(from, i) && from.rank > k.rank {
			continue
		}
		b := v.belief(from, i)
		if b.SD == 0 {
			continue
		}
		w := *v
		w.Thrusters = slices.Clone(v.Thrusters) // all else that a formula reads is no slice
		w.put(from, i, b.At(step))
		before, after := k.assumed(v, i), k.assumed(&w, i)
		if k.prior.spread.log {
			before, after = math.Log(before), math.Log(after)
		}
		sum += (after - before) * (after - before) / (step * step)
	}
	return math.Sqrt(sum)
}

// Draw returns a random vehicle that the file allows: every number is drawn from its Belief, priors
// by their formulas from what was drawn before. normal returns standard normal numbers.
func (v *Vehicle) Draw(normal func() float64) *Vehicle {
	for range 100 {
		z := map[string]float64{}
		w := v.vary(func(doubt string) float64 {
			if _, drawn := z[doubt]; !drawn {
				z[doubt] = normal()
			}
			return z[doubt]
		})
		if w.Check() == nil {
			return w
		}
	}
	return v.Clone() // hardly any draw is possible: contradictory values
}

// Varied returns the vehicle with keys moved by z standard deviations, keyed by Belief.Doubt and OfAxis;
// priors that are formulas of them move along.
func (v *Vehicle) Varied(z map[string]float64) *Vehicle {
	return v.vary(func(doubt string) float64 { return z[doubt] })
}

// vary returns the vehicle with keys moved by by(doubt) standard deviations.
func (v *Vehicle) vary(by func(doubt string) float64) *Vehicle {
	w := v.Clone()
	each := func(stated bool, set func(k *key, i int, z float64)) {
		v.byKey(func(k *key, i int) {
			if k.numeric() && v.isStated(k, i) == stated {
				z := by(v.doubt(k, i))
				if own := v.ofAxis(k, i); own != "" {
					z += by(own) * axisSD / k.prior.spread.sd
				}
				set(k, i, z)
			}
		})
	}
	each(true, func(k *key, i int, z float64) {
		if x := v.get(k, i); z != 0 || k.bounded(x) != x {
			w.set(v.belief(k, i), k, i, z)
		}
	})
	each(false, func(k *key, i int, z float64) {
		if k.prior.median != nil {
			w.set(Belief{Value: v.movedAlong(w, k, i), SD: k.prior.spread.sd, Log: k.prior.spread.log}, k, i, z)
		}
	})
	return w
}

// movedAlong returns a key that the file leaves out, as far from its value in v as the formulas have it
// in w from v. A rebuilt vehicle keeps what was not rebuilt, which its formulas do not give.
func (v *Vehicle) movedAlong(w *Vehicle, k *key, i int) float64 {
	to, from, x := k.bounded(k.assumed(w, i)), k.bounded(k.assumed(v, i)), v.get(k, i)
	switch {
	case x == from || x == 0: // 0 stands for what is not filled in
		return to
	case k.prior.spread.log && from > 0:
		return k.bounded(x * to / from)
	}
	return k.bounded(x + to - from)
}

// set sets a key z standard deviations from b.
func (v *Vehicle) set(b Belief, k *key, i int, z float64) {
	if b.SD > 0 {
		b.Value = k.bounded(b.At(z))
	}
	v.put(k, i, b.Value)
}
