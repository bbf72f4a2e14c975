// Package audit holds a vehicle's file and its log against each other: what readings say of each
// key, where the vehicle as dived differs from its file, and what is odd in the log. It
// assumes that keys are off by their own tolerances and independently of each other, so that what is
// known least takes most of a difference, and that what package fit says of parameters
// is normal.
//
// It goes back from the parameters g that dives share to keys: the likeliest keys given
// the readings, and those further off than their tolerances allow.
package audit
