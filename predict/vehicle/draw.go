package vehicle

// Draw is one of the vehicles that the file allows: every number drawn from
// its Belief, priors by their formulas from what was drawn before them. normal
// gives standard normal numbers. Thrusters are drawn alike: builders buy them
// alike, and err alike in testing them.
func (v *Vehicle) Draw(normal func() float64) *Vehicle {
	for range 100 {
		if w := v.draw(normal); w.Check() == nil {
			return w
		}
	}
	return v.Clone() // hardly any draw is possible: contradictory values
}

func (v *Vehicle) draw(normal func() float64) *Vehicle {
	w := v.Clone()
	for _, statedNow := range []bool{true, false} {
		for j := range keys {
			k := &keys[j]
			if !k.numeric() {
				continue
			}
			z := normal()
			for i := range v.count(k) {
				if v.isStated(k, i) == statedNow {
					w.vary(v, k, i, z)
				}
			}
		}
	}
	return w
}

// vary sets a key of w z standard deviations from where v has it.
func (w *Vehicle) vary(v *Vehicle, k *key, i int, z float64) {
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
		b.Value = k.bounded(b.at(z))
	}
	w.put(k, i, b.Value)
}
