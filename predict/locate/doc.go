// Package locate narrows a fault down from "the power loop" to the spot: which joint, which leg,
// which tube. It assumes that one spot is at fault, that the readings of a search are independent
// but for the fault's size, and that a joint is likelier to fail than sound cable. The next reading
// is the one with the largest expected reduction of entropy per minute of effort (de Kleer and
// Williams, Diagnosing multiple faults, Artificial Intelligence 32, 1987). It knows nothing of
// files or screens.
package locate
