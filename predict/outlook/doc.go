// Package outlook says what a fitted and analysed log means for the next dive: the vehicle as it is
// now with its margins and its speed, what the newest dive said, and which readings to take. It
// assumes that a report belongs to the result beside it, that what has changed stays at its trend's
// level at the newest dive, and that what was rebuilt since is sound.
package outlook
