// Package audit compares a vehicle's file with its log: what the readings say of each key, where
// the vehicle differs from its file, and what is odd in the log. It assumes that keys err
// independently by their own tolerances, so that the least known key takes most of a difference,
// and that the parameters of package fit are normal.
//
// It infers keys from the parameters that dives share: the likeliest keys given the readings, and
// those further off than their tolerances allow.
package audit
