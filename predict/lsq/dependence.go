package lsq

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Dependence warns of parameters that the residuals hardly tell apart.
type Dependence struct {
	I, J int     // indexes of the parameters, J = −1 if I stands alone
	Cond float64 // condition number of the Jacobian with scaled columns, maybe +Inf
}

func (d *Dependence) Error() string {
	if d.J < 0 {
		return fmt.Sprintf("parameter %d without effect on the residuals", d.I)
	}
	return fmt.Sprintf("parameters %d and %d not separable: condition number %.1e", d.I, d.J, d.Cond)
}

// partTol is the share of a parameter in the undetermined directions from
// which it is named.
const partTol = 0.05

// dependences names the parameters in the directions, columns of v, with
// small singular values. It reads the projection P on these directions, which
// unlike the directions themselves does not mix two separate pairs.
func dependences(values []float64, v *mat.Dense) []error {
	n := len(values)
	projection := mat.NewSymDense(n, nil)
	for k, value := range values {
		if k == n-1 || value <= values[0]/maxCond {
			projection.SymRankOne(projection, 1, v.ColView(k))
		}
	}
	most := 0.0
	for i := range n {
		most = math.Max(most, projection.At(i, i))
	}
	cond := math.Inf(1) // also if all columns are zero
	if values[n-1] > 0 {
		cond = values[0] / values[n-1]
	}
	var out []error
	seen := map[[2]int]bool{}
	for i := range n {
		if projection.At(i, i) < math.Min(partTol, most) {
			continue
		}
		d := &Dependence{I: i, J: partner(projection, i), Cond: cond}
		if d.J >= 0 && d.J < d.I {
			d.I, d.J = d.J, d.I
		}
		if key := [2]int{d.I, d.J}; !seen[key] {
			seen[key] = true
			out = append(out, d)
		}
	}
	return out
}

// partner returns the parameter that moves most with i, −1 if none does.
func partner(projection *mat.SymDense, i int) int {
	best, largest := -1, partTol*projection.At(i, i)
	for j := range projection.SymmetricDim() {
		if v := math.Abs(projection.At(i, j)); j != i && v > largest {
			best, largest = j, v
		}
	}
	return best
}
