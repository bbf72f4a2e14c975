package vehicle

import (
	"math"
	"slices"
)

// Z95 is how many standard deviations either side hold 95 % of a normal
// distribution: every 95 % range is that wide.
const Z95 = 1.959963984540054

// Origin says where a value comes from.
type Origin int

// The origins.
const (
	Prior  Origin = iota // left out
	Range                // given as [low, high]
	Given                // given
	Learnt               // written by the tool: the log's own readings stand behind it
)

// String is the origin in a word.
func (o Origin) String() string { return [...]string{"prior", "range", "file", "learnt"}[o] }

// A Belief is what the file and the table of keys say of one number.
type Belief struct {
	Path      string // as Set takes it
	Key       string // of the table: thruster.*.test_a
	Value, SD float64
	Log       bool    // SD is of ln(value)
	Residual  float64 // SD that is left when the keys are known that a prior is a formula of; else SD
	Tolerance float64 // SD, of ln(value) where Log, that a given value would have
	Low, High float64 // 95 %
	Least     float64 // what some vehicle may have
	Most      float64
	Origin    Origin
	Source    string
}

// Belief is what is known of a number by its path as Set takes it,
// "thruster.port.armature_ohm". A path that the vehicle does not have gives a
// Belief without a Path.
func (v *Vehicle) Belief(path string) Belief {
	k, i, err := v.find(path)
	if err != nil || !k.numeric() {
		return Belief{}
	}
	return v.named(v.belief(k, i), k, i)
}

// named is a belief with its path.
func (v *Vehicle) named(b Belief, k *key, i int) Belief {
	b.Path, b.Key = v.path(k, i), k.path
	return b
}

// priorBelief is what would be known of a key were it left out.
func (v *Vehicle) priorBelief(k *key, i int) Belief {
	w := v.Clone()
	if w.stated == nil {
		w.stated = map[keyElement]stated{}
	}
	delete(w.stated, k.at(i))
	if k.prior.median != nil {
		w.put(k, i, k.bounded(k.prior.median(w, i)))
	}
	return w.belief(k, i)
}

// Unlearnt is the vehicle as its owner wrote it: what the tool has written from
// readings is as it was before. A fit of those readings starts from it, so that
// they do not count twice.
func (v *Vehicle) Unlearnt() *Vehicle {
	w, any := v.Clone(), false
	for at, s := range v.stated {
		if !s.learnt {
			continue
		}
		any = true
		k := byPath[at.path]
		switch before, ok := k.number(s.before); {
		case ok:
			w.stated[at] = before
			w.put(k, at.i, k.middle(before))
		default:
			delete(w.stated, at)
			if k.prior.median == nil { // nothing is assumed where it is left out
				w.put(k, at.i, 0)
			}
		}
	}
	if any {
		w.fill()
	}
	return w
}

// isNone says of a prior that there is none of the thing: relays without a
// coil, a signal pair's joints without one.
func (b *Belief) isNone(k *key) bool {
	return b.Origin == Prior && b.Value == 0 && (k.prior.median == nil || k.prior.spread.log)
}

// Beliefs are those of every number of this vehicle, in the file's order; of
// the sizes of a conductor, the one stated.
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

// isStated says whether the file or Set states a key; in a vehicle made in code
// all that is not 0 is.
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
		if b.SD = math.Hypot(b.Residual, v.spreadOfFormula(k, i)); b.isNone(k) {
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

// in is a spread's standard deviation of ln(x) or of x.
func (s spread) in(log bool, x float64) float64 {
	switch {
	case log && !s.log:
		return s.sd / math.Abs(x)
	case s.log && !log:
		return s.sd * math.Abs(x)
	}
	return s.sd
}

// At is the value z standard deviations up.
func (b *Belief) At(z float64) float64 {
	if b.Log {
		return b.Value * math.Exp(z*b.SD)
	}
	return b.Value + z*b.SD
}

// spreadOfFormula is the standard deviation that the keys of a prior's formula
// bring to it, each varied alone: their own spreads are taken as independent.
// A key that is a prior itself and stands after k is a formula of k.
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
		before, after := k.prior.median(v, i), k.prior.median(&w, i)
		if k.prior.spread.log {
			before, after = math.Log(before), math.Log(after)
		}
		sum += (after - before) * (after - before) / (step * step)
	}
	return math.Sqrt(sum)
}

// Draw is one of the vehicles that the file allows: every number drawn from
// its Belief, priors by their formulas from what was drawn before them. normal
// gives standard normal numbers. Thrusters are drawn alike: builders buy them
// alike, and err alike in testing them.
func (v *Vehicle) Draw(normal func() float64) *Vehicle {
	for range 100 {
		if w := v.vary(func(*key) float64 { return normal() }); w.Check() == nil {
			return w
		}
	}
	return v.Clone() // hardly any draw is possible: contradictory values
}

// Varied is the vehicle with some keys, by their Belief's Key, as many standard
// deviations up as z says, in all thrusters alike, and what is left out and a
// formula of them along.
func (v *Vehicle) Varied(z map[string]float64) *Vehicle {
	return v.vary(func(k *key) float64 { return z[k.path] })
}

// vary is the vehicle with each key as many standard deviations up as by says.
func (v *Vehicle) vary(by func(*key) float64) *Vehicle {
	w := v.Clone()
	var stated []bool
	each := func(set func(k *key, i int, z float64)) {
		for j := range keys {
			if k := &keys[j]; k.numeric() {
				z := by(k)
				for i := range v.count(k) {
					set(k, i, z)
				}
			}
		}
	}
	each(func(k *key, i int, z float64) {
		is := v.isStated(k, i)
		if stated = append(stated, is); !is {
			return
		}
		if x := v.get(k, i); z != 0 || k.bounded(x) != x {
			w.set(v.belief(k, i), k, i, z)
		}
	})
	each(func(k *key, i int, z float64) {
		if !stated[0] && k.prior.median != nil {
			w.set(Belief{Value: k.bounded(k.prior.median(w, i)), SD: k.prior.spread.sd, Log: k.prior.spread.log}, k, i, z)
		}
		stated = stated[1:]
	})
	return w
}

// set puts a key z standard deviations from what is believed of it.
func (v *Vehicle) set(b Belief, k *key, i int, z float64) {
	if b.SD > 0 {
		b.Value = k.bounded(b.At(z))
	}
	v.put(k, i, b.Value)
}
