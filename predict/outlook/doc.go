// Package outlook says what a log, fitted and analysed, means for the next dive: the vehicle
// as it is now with its margins and its speed, what the newest dive said, and which readings
// to take. It assumes that a report is of the result beside it, that what has changed stays as
// its trend has it at the newest dive, and that what is rebuilt since is sound.
package outlook
