// Package advice turns a solved vehicle into what its operator has to decide: margins, endurance,
// where the watts go, what a change would gain, whether a station can be held, how much ballast is
// wanted. It assumes what package predict assumes, a uniform and steady current, a flexible tether
// that does not stretch and, where seconds are stated, copper that heats without losing heat. It
// knows nothing of log files or screens.
package advice
