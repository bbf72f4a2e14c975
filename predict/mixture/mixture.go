package mixture

import (
	"cmp"
	"math"
	"slices"

	"sagline/predict/causes"
	"sagline/predict/normal"

	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack/lapack64"
	"gonum.org/v1/gonum/mat"
)

// A Mixture is the posterior of one dive's departures over which causes, at most two, act in it. It
// neither blurs a sound dive by what it cannot tell nor pulls a faulty one back to soundness.
type Mixture struct {
	of         *Calibrated
	mean       []float64   // of scattering departures and keptStatic, without any cause
	cov        [][]float64 // their covariance P
	at         []int       // index in mean of each free departure, −1 if it does not scatter
	columns    []mixed
	cross      [][]float64 // dᵢᵀ·(A − A·P·A)·dⱼ
	components []component

	// Log is the log-likelihood of the dive, integrated over what acts in it, up to a constant of
	// the calibration and the scatter.
	Log float64
}

// mixed is one column of the space in a dive, with A the dive's information. One of no component has
// no d and w any more.
type mixed struct {
	d, w []float64 // d by free departure, and w = P·A·d by index in mean
	lin  float64
	sd   float64
}

// A component is one choice of causes: its weight, and the posterior of their amplitudes.
type component struct {
	log, weight float64
	columns     []int
	amplitude   []float64
	cov         *mat.SymDense // of the amplitudes
}

// invertSmall inverts a positive definite matrix and returns the logarithm of its determinant; ok
// is false if it has no inverse.
func invertSmall(s *mat.SymDense) (inverse *mat.SymDense, logDet float64, ok bool) {
	n := s.SymmetricDim()
	if n == 1 {
		x := s.At(0, 0)
		return mat.NewSymDense(1, []float64{1 / x}), math.Log(x), x > 0
	}
	u, ok := lapack64.Potrf(s.RawSymmetric())
	if !ok {
		return nil, 0, false
	}
	for i := range n {
		logDet += 2 * math.Log(u.Data[i*u.Stride+i])
	}
	lapack64.Potri(u)
	return s, logDet, true
}

// The prior probability that a cause acts in a given dive is that of its beginning at one dive
// times the dives that it stays unmended, at most a tenth. Common practice, no source.
const (
	divesUnmended = 30.0
	MostActing    = 0.1
)

// Acting returns the log prior odds that a cause acts in a dive.
func Acting(c *causes.Cause) float64 {
	p := min(divesUnmended*c.Begins()+c.Once, MostActing)
	return math.Log(p / (1 - p))
}

// Mixture returns the mixture of one dive, with the given variances of sound scatter.
func (c *Calibrated) Mixture(a Alone, variance []float64) (*Mixture, error) {
	m := &Mixture{of: c}
	if err := m.withoutCauses(a, variance); err != nil {
		return nil, err
	}
	m.addColumns(a)
	m.weigh()
	m.release()
	return m, nil
}

// release drops what only the weighing needs: of a log of 2,000 dives that was a fifth of a gigabyte.
func (m *Mixture) release() {
	m.cross = nil
	for j := range m.columns {
		if !slices.ContainsFunc(m.components, func(p component) bool { return slices.Contains(p.columns, j) }) {
			m.columns[j].d, m.columns[j].w = nil, nil
		}
	}
}

// withoutCauses solves for the scattering departures without any cause.
func (m *Mixture) withoutCauses(a Alone, variance []float64) error {
	c, sp := m.of, m.of.Space
	nf := len(c.Free)
	var rows []int // of a
	m.at = make([]int, nf)
	for i, k := range c.Free {
		m.at[i] = -1
		if slices.Contains(sp.Scatter, k) {
			m.at[i] = len(rows)
			rows = append(rows, i)
		}
	}
	for j := range c.Keep {
		rows = append(rows, nf+j)
	}
	n := len(rows)
	info, lin := mat.NewSymDense(n, nil), make([]float64, n)
	for i, a1 := range rows {
		lin[i] = a.lin[a1]
		for j := i; j < n; j++ {
			info.SetSym(i, j, a.info.At(a1, rows[j]))
		}
	}
	for i, k := range c.Free {
		if m.at[i] < 0 {
			continue
		}
		s := slices.Index(sp.Scatter, k)
		v := c.aboutTypical(s, variance[s])
		info.SetSym(m.at[i], m.at[i], info.At(m.at[i], m.at[i])+1/v)
		if p := c.Space.InStatic[k]; p >= 0 {
			lin[m.at[i]] += c.SoundOffset[p] / v
		}
	}
	u, ok := lapack64.Potrf(info.RawSymmetric())
	if !ok {
		return normal.ErrNotDefinite
	}
	m.Log = a.log
	for i := range n {
		m.Log -= math.Log(u.Data[i*u.Stride+i])
	}
	lapack64.Potri(u)
	m.cov, m.mean = make([][]float64, n), make([]float64, n)
	for i := range n {
		m.cov[i] = make([]float64, n)
		for j := range n {
			m.cov[i][j] = info.At(i, j)
		}
		m.mean[i] = blas64.Dot(normal.Vector(m.cov[i]), normal.Vector(lin))
	}
	m.Log += 0.5 * blas64.Dot(normal.Vector(lin), normal.Vector(m.mean))
	return nil
}

// aboutTypical is the variance of a sound dive's scattering parameter s about the mean of the
// baseline's dives, which itself scatters.
func (c *Calibrated) aboutTypical(s int, variance float64) float64 {
	return variance * (1 + c.Apart[s]/sq(c.Space.Known(c.Space.Scatter[s]).Scatter))
}

// addColumns computes what each amplitude would add, and the products of columns.
func (m *Mixture) addColumns(a Alone) {
	c, sp := m.of, m.of.Space
	nf, n := len(c.Free), len(m.mean)
	byFree := make([]int, len(sp.All))
	for i, k := range c.Free {
		byFree[k] = i
	}
	down := make([][]float64, len(sp.Columns)) // A·d by index in mean
	for j, col := range sp.Columns {
		x := mixed{d: make([]float64, nf), w: make([]float64, n), sd: col.SD}
		down[j] = make([]float64, n)
		for _, t := range col.Terms {
			i := byFree[t.At]
			x.d[i] += t.Per
			x.lin += t.Per * a.lin[i]
			for f, at := range m.at {
				if at >= 0 {
					down[j][at] += t.Per * a.info.At(i, f)
				}
			}
			for k := range c.Keep {
				down[j][n-len(c.Keep)+k] += t.Per * a.info.At(i, nf+k)
			}
		}
		for i := range n {
			x.w[i] = blas64.Dot(normal.Vector(m.cov[i]), normal.Vector(down[j]))
		}
		x.lin -= blas64.Dot(normal.Vector(down[j]), normal.Vector(m.mean))
		m.columns = append(m.columns, x)
	}
	m.cross = make([][]float64, len(sp.Columns))
	for i := range m.cross {
		m.cross[i] = make([]float64, len(sp.Columns))
		for j := range m.cross {
			for _, s := range sp.Columns[i].Terms {
				for _, t := range sp.Columns[j].Terms {
					m.cross[i][j] += s.Per * t.Per * a.info.At(byFree[s.At], byFree[t.At])
				}
			}
			m.cross[i][j] -= blas64.Dot(normal.Vector(down[i]), normal.Vector(m.columns[j].w))
		}
	}
}

// mostPaired is how many of the likeliest single causes are paired with every other one.
const mostPaired = 3

// weigh tries no cause, each one by itself, and pairs with one of the likeliest.
func (m *Mixture) weigh() {
	sp := m.of.Space
	m.components = append(m.components, component{})
	type single struct {
		columns []int
		prior   float64
		log     float64
	}
	var singles []single
	for i := 0; i < len(sp.Columns); {
		c, way := sp.Columns[i].Cause, sp.Columns[i].Way
		var cols []int
		for ; i < len(sp.Columns) && sp.Columns[i].Cause == c && sp.Columns[i].Way == way; i++ {
			cols = append(cols, i)
		}
		prior, known := m.of.Odds[c]
		if !known {
			prior = Acting(&sp.Causes[c])
		}
		if way > 0 {
			_, p := sp.Causes[c].Way(way)
			prior += math.Log(p)
		}
		if comp, ok := m.try(cols, prior); ok {
			m.components = append(m.components, comp)
			singles = append(singles, single{cols, prior, comp.log})
		}
	}
	slices.SortStableFunc(singles, func(a, b single) int { return cmp.Compare(b.log, a.log) })
	for j := range min(len(singles), mostPaired) {
		for i := j + 1; i < len(singles); i++ {
			cols := append(slices.Clone(singles[i].columns), singles[j].columns...)
			if comp, ok := m.try(cols, singles[i].prior+singles[j].prior); ok {
				m.components = append(m.components, comp)
			}
		}
	}
	m.normalise()
}

// try returns the component of columns cols, with log prior odds prior; false if it is singular.
func (m *Mixture) try(cols []int, prior float64) (component, bool) {
	n := len(cols)
	s, lin := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	log := prior
	for a, i := range cols {
		lin.SetVec(a, m.columns[i].lin)
		for b := a; b < n; b++ {
			s.SetSym(a, b, m.cross[i][cols[b]])
		}
		s.SetSym(a, a, s.At(a, a)+1/sq(m.columns[i].sd))
		log -= math.Log(m.columns[i].sd)
	}
	inverse, logDet, ok := invertSmall(s)
	if !ok {
		return component{}, false
	}
	var mean mat.VecDense
	mean.MulVec(inverse, lin)
	log += 0.5*mat.Dot(lin, &mean) - 0.5*logDet
	return component{log: log, columns: cols, amplitude: mean.RawVector().Data, cov: inverse}, true
}

// negligible is the weight below which a component is dropped.
const negligible = 1e-6

func (m *Mixture) normalise() {
	top, total := math.Inf(-1), 0.0
	for i := range m.components {
		top = max(top, m.components[i].log)
	}
	for i := range m.components {
		m.components[i].weight = math.Exp(m.components[i].log - top)
		total += m.components[i].weight
	}
	m.Log += top + math.Log(total)
	kept := m.components[:0]
	for _, p := range m.components {
		if p.weight /= total; p.weight > negligible {
			kept = append(kept, p)
		}
	}
	m.components = kept
}

func sq(x float64) float64 { return x * x }
