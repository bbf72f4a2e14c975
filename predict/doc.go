// Package predict is the physics of a small tethered vehicle: what the voltmeter, the clamp meter
// and the stopwatch should read. It assumes brushed motors described by a static test on short
// leads, copper conductors, quadratic drag and EOS-80 water. It knows nothing of log files or
// screens. It holds for steady running, up to a few m/s and a hundred metres. It leaves out motor
// heating, added mass, drag coefficients that change with speed, and waves.
package predict
