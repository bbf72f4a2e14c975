package fit

// An Integrator integrates sound scatter out of one dive after the other. It is
// not safe for concurrent use.
type Integrator struct {
	at   []int // each drift's place among the shared parameters
	work information
}

// Integrator is one for a log's dives.
func (r *Result) Integrator() *Integrator {
	return &Integrator{r.positions(), newInformation(len(r.Shared) + len(r.Drift))}
}

// Out integrates a drift with the given variances out of a dive's likelihood:
// what is left speaks of the shared parameters, departures from Base, and of any
// level added to them. It is put into info, rows of len(lin), and lin.
func (s *Integrator) Out(q *Quadratic, variance []float64, info, lin []float64) {
	ns := len(q.Lin)
	s.work.clear()
	for i, v := range variance {
		s.work.info.SetSym(ns+i, ns+i, 1/v)
	}
	addBlock(&s.work, q, s.at, ns)
	s.work.marginal(ns)
	copy(lin, s.work.lin)
	for i := range ns {
		for j := i; j < ns; j++ {
			x := s.work.info.At(i, j)
			info[i*ns+j], info[j*ns+i] = x, x
		}
	}
}
