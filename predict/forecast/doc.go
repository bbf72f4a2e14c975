// Package forecast predicts the readings of a vehicle's next dive and how sure that is, from
// package fit's result or from the file alone, and finds which readings would tell most. It assumes
// that what is not known of the vehicle is normal, and that readings depend on it smoothly; ranges
// are those of vehicles drawn from that.
package forecast
