package forecast

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/mat"
)

// The root's square is the covariance, and the last digits of that move the root by as little: also
// where eigenvalues are nearly equal.
func TestSymmetricRoot(t *testing.T) {
	cov := mat.NewSymDense(3, []float64{2, 0.3, 0, 0.3, 2, 0, 0, 0, 2.3})
	root := symmetricRoot(cov)
	var square mat.Dense
	square.Mul(root, root)
	assert.True(t, mat.EqualApprox(&square, cov, 1e-12), "%v", mat.Formatted(&square))
	for _, by := range []float64{1e-13, -1e-13} {
		other := mat.NewSymDense(3, nil)
		other.CopySym(cov)
		other.SetSym(0, 2, by)
		other.SetSym(1, 2, -2*by)
		assert.True(t, mat.EqualApprox(root, symmetricRoot(other), 1e-12))
	}
	none := symmetricRoot(mat.NewSymDense(2, []float64{0, 0, 0, -1e-18}))
	assert.True(t, mat.EqualApprox(none, mat.NewDense(2, 2, nil), 1e-15), "rounding")
}
