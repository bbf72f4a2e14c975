package drift

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"sagline/predict/fit"
)

// found is the log evidence for one fault, summed over when and how it began,
// and its best single explanation.
type found struct {
	total, bestLog float64
	best           hypothesis
}

func (f *found) add(h hypothesis, log float64) {
	f.total = logAdd(f.total, log)
	if log > f.bestLog {
		f.best, f.bestLog = h, log
	}
}

// scan weighs every fault that is not yet believed, beginning at every dive,
// against what is believed already (base). One more amplitude a borders base's
// information B by a column c and a corner s, so its evidence needs B⁻¹ alone;
// column and corner of each onset follow from those of the next dive.
func (a *analysis) scan(st state, base *posterior, n int) []found {
	out := make([]found, len(a.faults))
	dim := base.mean.Len()
	var inverse mat.SymDense
	_ = base.chol.InverseTo(&inverse)
	s := &scanner{a: a, base: base, inverse: &inverse, cols: a.columns(st.active, n), loose: settled(st.active, n),
		step: make([]float64, dim), ramp: make([]float64, dim), scratch: make([]float64, dim)}
	for f := range a.faults {
		out[f] = found{total: math.Inf(-1), bestLog: math.Inf(-1)}
		switch {
		case st.has(f):
		case a.faults[f].param == within:
			a.scanWithin(&out[f], f, base.log, n)
		default:
			s.fault(&out[f], f, n)
		}
	}
	return out
}

// first is the first dive at which a fault may begin: after the baseline, or
// one dive after a service, whose own level needs a dive to be known.
func (a *analysis) first(f int) int {
	if e := a.epoch[f]; e > a.r.Baseline {
		return e + 1
	}
	return a.r.Baseline
}

// scanner is what the onsets of one scan share.
type scanner struct {
	a                   *analysis
	base                *posterior
	inverse             *mat.SymDense
	cols                []column
	loose               int
	step, ramp, scratch []float64 // border columns
}

// fault weighs fault f from the newest onset to the oldest.
func (s *scanner) fault(out *found, f, n int) {
	a, fl := s.a, &s.a.faults[f]
	clear(s.step)
	clear(s.ramp)
	var stepInfo, stepLin, rampInfo, rampLin, rampSum float64
	place, first := a.place[f], a.first(f)
	for d := n; d >= first; d-- {
		info, lin := a.at(d, s.loose)
		s.cross(info, place, d, fl.worse)
		for i, x := range s.scratch {
			s.step[i] += x
			s.ramp[i] += s.step[i]
		}
		one := info.At(place, place)
		stepInfo, stepLin = stepInfo+one, stepLin+fl.worse*lin[place]
		rampInfo += 2*rampSum + stepInfo // Σ(m+1)² = Σm² + 2Σm + Σ1
		rampSum += stepInfo
		rampLin += stepLin
		prior := math.Log(hazard / 2)
		out.add(hypothesis{f, Step, d}, prior+s.evidence(s.step, stepInfo, stepLin, fl.step))
		if d < n {
			out.add(hypothesis{f, Ramp, d}, prior+s.evidence(s.ramp, rampInfo, rampLin, fl.ramp))
		}
	}
}

// cross fills scratch with dive d's information between a unit level of a
// parameter and everything in base.
func (s *scanner) cross(info *mat.SymDense, place, d int, sign float64) {
	ns := s.base.ns
	for i := range ns {
		s.scratch[i] = sign * info.At(i, place)
	}
	for c, col := range s.cols {
		s.scratch[ns+c] = sign * col.sign * col.at(d) * info.At(place, col.place)
	}
}

// evidence is base's with one more amplitude, of prior deviation sd and one
// sign only, integrated out.
func (s *scanner) evidence(c []float64, info, lin, sd float64) float64 {
	n := len(c)
	raw := s.inverse.RawSymmetric()
	var quadratic float64
	for i := range n {
		row := raw.Data[i*raw.Stride:]
		x := row[i] * c[i] / 2
		for j := i + 1; j < n; j++ {
			x += row[j] * c[j]
		}
		quadratic += 2 * c[i] * x
		lin -= c[i] * s.base.mean.AtVec(i)
	}
	p := info + 1/(sd*sd) - quadratic
	return s.base.log - math.Log(sd) + 0.5*lin*lin/p - 0.5*math.Log(p) +
		math.Log(2*distuv.UnitNormal.CDF(lin/math.Sqrt(p))+1e-300)
}

// scanWithin weighs a contact that comes and goes since each dive, averaged
// over the sizes tried.
func (a *analysis) scanWithin(out *found, f int, base float64, n int) {
	sums := make([]float64, len(fit.WithinSizes))
	for d := n; d >= a.first(f); d-- {
		best := math.Inf(-1)
		for i := range sums {
			sums[i] += max(a.r.Dives[d].Summary.Within[i], withinFloor)
			best = max(best, sums[i])
		}
		out.add(hypothesis{f, Intermittent, d}, base+best-math.Log(float64(len(sums)))+math.Log(hazard))
	}
}

// withinFloor bounds what one quiet dive says against a contact that comes and
// goes: it may not have come.
const withinFloor = -2
