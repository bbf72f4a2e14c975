package steady

import (
	"math"
	"slices"
)

// A Mean is what a stretch says of one channel.
type Mean struct {
	Value     float64
	SD        float64 // of one sample
	SE        float64 // of Value: SD over the root of Effective
	N         int     // samples that Value is of; 0: none was read, all else NaN
	SetAside  int     // samples left out since they lie far from all others
	Effective float64 // independent samples that N are worth
	Drift     float64 // what a straight line through them gains from first to last
}

// mostAside is the share of samples that may be spikes; where more lie far
// out, that is how the noise is.
const mostAside = 0.02

// meanOf sums up a channel's samples; least is what matters.
func meanOf(time, x []float64, least float64) Mean {
	t, kept := make([]float64, 0, len(x)), make([]float64, 0, len(x))
	for i, v := range x {
		if !math.IsNaN(v) {
			t, kept = append(t, time[i]), append(kept, v)
		}
	}
	m := Mean{}
	if spikes := farOut(kept, least); spikes != nil {
		n := 0
		for i := range kept {
			if !spikes[i] {
				t[n], kept[n] = t[i], kept[i]
				n++
			}
		}
		m.SetAside = len(kept) - n
		t, kept = t[:n], kept[:n]
	}
	m.N = len(kept)
	if m.N == 0 {
		nan := math.NaN()
		m.Value, m.SD, m.SE, m.Effective, m.Drift = nan, nan, nan, nan, nan
		return m
	}
	m.Value, m.SD = meanSD(kept)
	m.Effective = effective(kept)
	m.SE = m.SD / math.Sqrt(m.Effective)
	m.Drift = drift(t, kept)
	return m
}

// farOut marks spikes, nil where there are none or too many to be any.
func farOut(x []float64, least float64) []bool {
	if len(x) < 5 {
		return nil
	}
	s := some(x)
	mid := median(s)
	for i, v := range s {
		s[i] = math.Abs(v - mid)
	}
	limit := max(far*normalMAD*median(s), least)
	out, n := make([]bool, len(x)), 0
	for i, v := range x {
		if math.Abs(v-mid) > limit {
			out[i] = true
			n++
		}
	}
	if n == 0 || float64(n) > max(1, mostAside*float64(len(x))) {
		return nil
	}
	return out
}

// mostSorted is how many values a median is taken of.
const mostSorted = 20000

// some is a copy of x, or of equally spaced values of it.
func some(x []float64) []float64 {
	if len(x) <= mostSorted {
		return slices.Clone(x)
	}
	out := make([]float64, mostSorted)
	for i := range out {
		out[i] = x[i*len(x)/mostSorted]
	}
	return out
}

func meanSD(x []float64) (mean, sd float64) {
	for _, v := range x {
		mean += v
	}
	mean /= float64(len(x))
	if len(x) < 2 {
		return mean, math.NaN()
	}
	for _, v := range x {
		sd += (v - mean) * (v - mean)
	}
	return mean, math.Sqrt(sd / float64(len(x)-1))
}

// drift is the slope of the line of least squares times the time spanned.
func drift(t, x []float64) float64 {
	tm, _ := meanSD(t)
	xm, _ := meanSD(x)
	var xy, tt float64
	for i := range x {
		xy += (t[i] - tm) * (x[i] - xm)
		tt += (t[i] - tm) * (t[i] - tm)
	}
	if tt == 0 {
		return 0
	}
	return xy / tt * (t[len(t)-1] - t[0])
}
