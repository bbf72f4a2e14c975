package drift

import "sagline/predict/fit"

// sums are what a run of dives says together: the moments Σ tʲ·info and
// Σ tʲ·lin of its quadratics, t counted from the run's first dive. The share of
// any step or ramp follows from them without going back to the dives, and as
// runs are only ever joined, never taken apart, nothing cancels.
type sums struct {
	dives  int
	info   [3][]float64 // shared × shared, by rows; of one dive only the first
	lin    [2][]float64
	within [len(fit.WithinSizes)]float64 // for a contact that comes and goes, in whole runs
}

// add joins another run that begins shift dives after this one.
func (s *sums) add(o *sums, shift float64) {
	s.dives += o.dives
	for i, x := range o.info[0] {
		var x1, x2 float64
		if o.info[1] != nil {
			x1, x2 = o.info[1][i], o.info[2][i]
		}
		s.info[0][i] += x
		s.info[1][i] += x1 + shift*x
		s.info[2][i] += x2 + shift*(2*x1+shift*x)
	}
	for i, x := range o.lin[0] {
		s.lin[0][i] += x
		if s.lin[1][i] += shift * x; o.lin[1] != nil {
			s.lin[1][i] += o.lin[1][i]
		}
	}
	for i, x := range o.within {
		s.within[i] += x
	}
}

// at is a moment of one element, and line one of a row; 0 and nil for the
// higher moments of a single dive.
func (s *sums) at(moment, i, j int) float64 {
	if s.info[moment] == nil {
		return 0
	}
	return s.info[moment][i*len(s.lin[0])+j]
}

func (s *sums) row(moment, i int) []float64 {
	if s.info[moment] == nil {
		return nil
	}
	n := len(s.lin[0])
	return s.info[moment][i*n : (i+1)*n]
}

func (s *sums) linAt(moment, i int) float64 {
	if s.lin[moment] == nil {
		return 0
	}
	return s.lin[moment][i]
}

// smallest is the binary logarithm of the shortest run that is kept summed.
const smallest = 4

// history is the dives after the baseline with the sums of all runs of
// 2ʲ dives that begin at a multiple of their length, so that a run of any
// length is made of few.
type history struct {
	from  int // dive of dives[0]
	dives []sums
	runs  [][]sums // by j − smallest, then in order
	right int      // runs are right that end before this place among dives
}

// change is dive d, of n shared parameters, to be set; it may be the next one.
// Runs are right after settle.
func (h *history) change(d, n int) *sums {
	k := d - h.from
	if k == len(h.dives) {
		h.dives = append(h.dives, sums{dives: 1, info: [3][]float64{make([]float64, n*n)}, lin: [2][]float64{make([]float64, n)}})
	}
	h.right = min(h.right, k)
	return &h.dives[k]
}

// settle sums the runs anew that hold changed dives.
func (h *history) settle() {
	n := len(h.dives)
	for j := 0; n>>(j+smallest) > 0; j++ {
		if j == len(h.runs) {
			h.runs = append(h.runs, nil)
		}
		kept := h.runs[j][:min(len(h.runs[j]), h.right>>(j+smallest))]
		for i := len(kept); i < n>>(j+smallest); i++ {
			kept = append(kept, h.run(j, i))
		}
		h.runs[j] = kept
	}
	h.right = n
}

// run sums the i-th run of 2^(j+smallest) dives.
func (h *history) run(j, i int) sums {
	parts := h.dives
	if j > 0 {
		parts = h.runs[j-1]
		parts = parts[2*i : 2*i+2]
	} else {
		parts = parts[i<<smallest : (i+1)<<smallest]
	}
	var out sums
	n := len(parts[0].lin[0])
	for k := range out.info {
		out.info[k] = make([]float64, n*n)
	}
	for k := range out.lin {
		out.lin[k] = make([]float64, n)
	}
	for k := range parts {
		out.add(&parts[k], float64(out.dives))
	}
	return out
}

// before is the longest run kept that ends before dive end and begins at
// first or later; a single dive where there is none.
func (h *history) before(end, first int) (s *sums, begin int) {
	hi, room := end-h.from, end-first
	for j := len(h.runs) - 1; j >= 0; j-- {
		size := 1 << (j + smallest)
		if i := hi>>(j+smallest) - 1; size <= room && hi&(size-1) == 0 && i < len(h.runs[j]) {
			return &h.runs[j][i], end - size
		}
	}
	return &h.dives[hi-1], end - 1
}
