// Package lsq minimises a sum of squared residuals, ½‖r(x)‖², by the Levenberg–Marquardt method,
// and says how well the answer is determined.
//
// It is made for many small problems solved from a near guess, either dense or with groups of
// residuals that have unknowns of their own. A step takes one QR factorisation of the Jacobian in a
// reused workspace. Steps are bounded in a norm that follows the sizes of the Jacobian's columns,
// so that parameters in grams and in ohms may stand side by side.
//
// The step p from x minimises
//
//	‖r + J·p‖² + λ‖D·p‖²
//
// with λ = 0 if that step satisfies ‖D·p‖ ≤ Δ, else with the λ that makes ‖D·p‖ = Δ to a tenth. Δ
// follows the ratio of actual to predicted fall of the cost (J. J. Moré, The Levenberg–Marquardt
// algorithm: implementation and theory, Lecture Notes in Mathematics 630, Springer 1978, pp.
// 105–116).
//
// Do not use it for bounded parameters (transform them), for large Jacobians that are sparse in
// other ways, for residuals with kinks near the answer, or to choose among several minima: it finds
// the one below its starting point.
package lsq
