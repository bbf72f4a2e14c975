// Package normal reckons with normal densities: several unknowns together as a quadratic
// log-likelihood, gathered residual by residual and integrated over some of them, and mixtures
// of one number's. It assumes residuals in standard deviations and linear in the unknowns.
package normal
