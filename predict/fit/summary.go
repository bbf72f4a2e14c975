package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack/lapack64"
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/circumstances"
	"sagline/predict/mixture"
	"sagline/predict/normal"
	"sagline/predict/priors"
)

// A Summary is the likelihood of one dive's readings in its parameters.
type Summary struct {
	Params predict.Params // where the likelihood is expanded
	Fitted predict.Params // best fit; nil in the baseline
	// recalibrated is the vehicle about which the dive was fitted if its uncalibrated readings tell
	// one, else nil.
	recalibrated predict.Params
	normal.Quadratic
	// Firm is the likelihood with a firm contact, Intermittent that with an intermittent one, nil
	// if no reading suggests it. normal.Quadratic is whichever of the two the dive by itself
	// supports.
	Firm         normal.Quadratic
	Intermittent *normal.Quadratic
	// IntermittentOhm is one standard deviation from line to line of the loop resistance in
	// Intermittent: the likeliest of those tried.
	IntermittentOhm float64
	// Failed holds the likelihoods with a failed thruster. A failure less likely than a sound
	// vehicle is absent.
	Failed map[causes.Failure]Failed
	Idle   []bool // thrusters with which nothing was read; nil in the baseline
	// turning is the dive's log-likelihood without a failed thruster and with the model held to be
	// exact, over all causes that may act in it (mixture.Mixture.Log).
	turning float64
	// Contradicts reports of a baseline dive that its lines disagree or that it looks as if a
	// thruster failed, LeftOut that the calibration rests on other dives.
	Contradicts, LeftOut bool
}

// Failed is the likelihood of a dive's readings with a failed thruster.
type Failed struct {
	*normal.Quadratic
	By    []Departure       // the departures about which it is expanded; none for a jam
	exact *normal.Quadratic // with the model held to be exact
	tried int               // number of sizes; all are as probable a priori
	alone mixture.Alone
	worth float64 // log odds against all else that may act in the dive, nats
}

// IsIntermittent reports whether the dive by itself supports an intermittent contact.
func (s *Summary) IsIntermittent() bool {
	return s.Intermittent != nil && s.Info == s.Intermittent.Info
}

// summarise expands the dive's log-likelihood with a firm contact about its fit, in place of what
// sum held before.
func (d *dive) summarise(m *predict.Model, sp *priors.Space, base predict.Params, sum *Summary, sc *scratch) error {
	d.chords(m, sum.Params, soundOn(base, sum), sc)
	d.boundSlopes(sp, sc)
	err := d.expand(&sum.Firm, sp, base, sum.Params, 0, sc)
	sum.Quadratic = sum.Firm
	return err
}

// chords fills sc with a dive's residuals at its fit, and with the mean of the slopes there and at
// the sound vehicle (the trapezoidal rule), so that one quadratic holds at both ends. With the
// slopes at the fit alone, static parameters pass for a fault that makes them steeper: a battery of
// three times its resistance is a motor of several times its size, where no clamp meter tells the
// current and no dive before says otherwise.
func (d *dive) chords(m *predict.Model, fit, sound predict.Params, sc *scratch) {
	d.residuals(m, sound, perLine{}, sc, true)
	for k := range d.cells {
		copy(sc.sound[k], sc.jac[k])
	}
	d.residuals(m, fit, perLine{}, sc, true)
	for k := range d.cells {
		for j, x := range sc.sound[k] {
			sc.jac[k][j] = (sc.jac[k][j] + x) / 2
		}
	}
}

// steepest bounds how many times better than its prior one reading may tell a parameter: an
// instrument's hundredths of a volt make some hundred.
const steepest = 3e3

// boundSlopes scales cells with slopes steeper than steepest down to it. They come from readings at
// the edge of what the model can do, where no quadratic holds for long, and would leave the other
// parameters no digits.
func (d *dive) boundSlopes(sp *priors.Space, sc *scratch) {
	for k := range d.cells {
		most := 0.0
		for i, x := range sc.jac[k] {
			p := &sp.Of[i]
			most = max(most, math.Abs(x)*max(p.Prior, p.Fault, p.Scatter))
		}
		if f := steepest / most; f < 1 {
			blas64.Scal(f, normal.Vector(sc.jac[k]))
			sc.r[k] *= f
		}
	}
}

// nuisances returns the parameters that are one dive's alone: the battery's sag, every unknown
// circumstance that lines share, and last, if intermittent, the mean of an intermittent contact.
func (d *dive) nuisances(intermittent bool) []int {
	out := []int{predict.SagVPerMinute}
	for i := range d.obs {
		for _, u := range d.obs[i].Unknown {
			if u.Dive > 0 && !slices.Contains(out, u.Param) {
				out = append(out, u.Param)
			}
		}
	}
	if intermittent {
		out = append(out, predict.LoopOhm)
	}
	return out
}

// expand sets out to the quadratic about at from the residuals and slopes in sc, moved to base.
// Each line's unknown circumstances and loose contact, and the nuisances, are integrated out.
func (d *dive) expand(out *normal.Quadratic, sp *priors.Space, base, at predict.Params, withinOhm float64, sc *scratch) error {
	ns := len(sp.All)
	nuisances := d.nuisances(withinOhm > 0)
	dim := ns + len(nuisances)
	sum := normal.NewInformation(dim)
	out.Log = -0.5*d.robustLoss() - d.lnLessPrecise()
	for start, end := 0, 0; start < len(d.cells); start = end {
		for end = start; end < len(d.cells) && d.cells[end].obs == d.cells[start].obs; end++ {
		}
		line := sc.line.of(end-start, dim)
		for k := start; k < end; k++ {
			line.fill(k-start, sp, nuisances, &d.obs[d.cells[k].obs], sc.jac[k], sc.r[k])
			if withinOhm > 0 { // a contact adds resistance, so its mean has the prior standard deviation of its scatter
				line.row(k - start)[dim-1] = sc.jac[k][predict.LoopOhm] * withinOhm
			}
		}
		logDet, err := line.whiten(d.obs[d.cells[start].obs].Unknown, sc.jac[start:end], withinOhm)
		if err != nil {
			return err
		}
		out.Log -= logDet
		for k := range end - start {
			sum.Add(line.row(k), line.r[k])
			out.Log -= 0.5 * sq(line.r[k])
		}
	}
	sag := sp.Of[predict.SagVPerMinute]
	off := (sag.Mean - at[predict.SagVPerMinute]) / sag.Prior
	sum.Prior(ns, off, sag.Prior)
	out.Log -= 0.5 * sq(off)
	for i := ns + 1; i < dim; i++ {
		sum.Prior(i, 0, 1)
	}
	if out.Info == nil {
		out.Info, out.Lin = mat.NewSymDense(ns, nil), make([]float64, ns)
	}
	log, err := sum.Marginal(ns)
	if err != nil {
		return err
	}
	out.Log += log
	sum.Head(out.Info, out.Lin)
	moved := make([]float64, ns)
	for a, k := range sp.All {
		moved[a] = base[k] - at[k]
	}
	out.Move(moved)
	return nil
}

// lineRows holds the rows of one line's cells: slopes by the space and the dive's nuisances, and
// residuals.
type lineRows struct {
	cells, dim int
	data, r    []float64
	cov        []float64
}

func (l *lineRows) of(cells, dim int) *lineRows {
	if need := cells * dim; cap(l.data) < need {
		l.data = make([]float64, need)
	}
	if cap(l.r) < cells {
		l.r, l.cov = make([]float64, cells), make([]float64, cells*cells)
	}
	l.cells, l.dim, l.data, l.r, l.cov = cells, dim, l.data[:cells*dim], l.r[:cells], l.cov[:cells*cells]
	return l
}

func (l *lineRows) row(k int) []float64 { return l.data[k*l.dim : (k+1)*l.dim] }

func (l *lineRows) fill(k int, sp *priors.Space, nuisances []int, o *observation, jac []float64, r float64) {
	row, ns := l.row(k), len(sp.All)
	clear(row)
	for i, p := range sp.All {
		row[i] = jac[p]
	}
	row[ns] = jac[predict.SagVPerMinute]
	for _, u := range o.Unknown {
		if u.Dive > 0 {
			row[ns+slices.Index(nuisances, u.Param)] = jac[u.Param] * u.Dive
		}
	}
	l.r[k] = r
}

// whiten makes the rows independent of each other, of unit variance: the line's unknown
// circumstances and its loose contact give them the covariance I + U·Uᵀ = L·Lᵀ. It returns ln det
// L.
func (l *lineRows) whiten(unknowns []circumstances.Unknown, jac [][]float64, withinOhm float64) (float64, error) {
	n, any := l.cells, false
	clear(l.cov)
	spread := func(param int, sd float64) {
		if sd == 0 {
			return
		}
		any = true
		for i := range n {
			for j := i; j < n; j++ {
				l.cov[i*n+j] += jac[i][param] * jac[j][param] * sd * sd
			}
		}
	}
	for _, u := range unknowns {
		spread(u.Param, u.Line)
		if u.Cell > 0 {
			any = true
			for i := range n {
				l.cov[i*n+i] += sq(jac[i][u.Param] * u.Cell)
			}
		}
	}
	spread(predict.LoopOhm, withinOhm)
	if !any {
		return 0, nil
	}
	for i := range n {
		l.cov[i*n+i]++
	}
	u, ok := lapack64.Potrf(blas64.Symmetric{N: n, Stride: n, Data: l.cov, Uplo: blas.Upper})
	if !ok {
		return 0, normal.ErrNotDefinite
	}
	logDet := 0.0
	for i := range n {
		logDet += math.Log(l.cov[i*n+i])
	}
	blas64.Trsm(blas.Left, blas.Trans, 1, u, blas64.General{Rows: n, Cols: l.dim, Stride: l.dim, Data: l.data})
	blas64.Trsv(blas.Trans, u, normal.Vector(l.r))
	return logDet, nil
}
