// Package priors holds what is assumed of a vehicle before any reading of a log: for each parameter
// of package predict how far the vehicle may differ from its file, how far sound dives scatter, and
// how far a cause may take it in one dive. It assumes that the file's keys are uncertain
// independently of each other, each by its tolerance, and carries that to the parameters by the
// slopes of the formulas that join them.
package priors
