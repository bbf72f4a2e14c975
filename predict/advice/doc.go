// Package advice turns a solved vehicle into what its operator has to decide:
// margins, endurance, where the watts go, what a change would gain, whether a
// station can be held, how much ballast is wanted. It assumes what package
// predict assumes, a current that is uniform and steady, a tether that is
// flexible and does not stretch, and copper that heats without losing heat
// where seconds are stated. It knows nothing of log files or screens.
package advice
