package vehicle

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
	for _, statedNow := range []bool{true, false} {
		for j := range keys {
			k := &keys[j]
			if !k.numeric() {
				continue
			}
			z := by(k)
			for i := range v.count(k) {
				if v.isStated(k, i) == statedNow {
					w.set(v, k, i, z)
				}
			}
		}
	}
	return w
}

// set puts a key of w z standard deviations from where v has it.
func (w *Vehicle) set(v *Vehicle, k *key, i int, z float64) {
	var b Belief
	switch {
	case v.isStated(k, i):
		b = v.belief(k, i)
	case k.prior.median == nil:
		return
	default:
		b = Belief{Value: k.bounded(k.prior.median(w, i)), SD: k.prior.spread.sd, Log: k.prior.spread.log}
	}
	if b.SD > 0 {
		b.Value = k.bounded(b.At(z))
	}
	w.put(k, i, b.Value)
}
