// Package normal computes with normal densities: quadratic log-likelihoods of several unknowns,
// gathered residual by residual and integrated over some of them, and mixtures of one number's
// normals. It assumes residuals in standard deviations that are linear in the unknowns.
package normal
