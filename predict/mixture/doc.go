// Package mixture says what one dive's readings show of its departures from the calibration: a
// mixture of normals over no cause, each single cause and the likeliest pairs of the table of
// causes, each with its prior probability, so that a sound dive is not blurred by what it cannot
// tell. It assumes that the dive's log-likelihood is quadratic, and that at most two causes act in
// one dive.
package mixture
