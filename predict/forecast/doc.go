// Package forecast says what the readings of a vehicle's next dive should be and how sure that
// is, from what package fit says of its dives or from its file alone, and which readings would
// tell most. It assumes that what is not known of the vehicle is normal, and that
// readings follow it smoothly; ranges are those of vehicles drawn from that.
package forecast
