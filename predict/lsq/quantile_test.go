package lsq_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/stat/distuv"
)

// Quantiles that turn standard errors into intervals, as printed in the
// NIST/SEMATECH e-Handbook 1.3.6.7.2 (Student's t, three decimals) and by
// common tables of the normal distribution; t(0.975; 12) to six digits.
func TestQuantiles(t *testing.T) {
	for _, c := range []struct{ p, nu, want float64 }{
		{0.975, 1, 12.706},
		{0.975, 5, 2.571},
		{0.975, 10, 2.228},
		{0.95, 10, 1.812},
		{0.975, 30, 2.042},
	} {
		assert.InDelta(t, c.want, distuv.StudentsT{Sigma: 1, Nu: c.nu}.Quantile(c.p), 5.1e-4, "t(%v; %v)", c.p, c.nu)
	}
	assert.InDelta(t, 2.17881, distuv.StudentsT{Sigma: 1, Nu: 12}.Quantile(0.975), 5e-6)
	assert.InDelta(t, 1.959964, distuv.UnitNormal.Quantile(0.975), 5e-7)
}
