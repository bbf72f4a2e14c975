package predict

import "math"

// Gravity is standard gravity, m/s² (ISO 80000-3).
const Gravity = 9.80665

// WaterDensity returns the density of sea water in kg/m³ at one atmosphere, by EOS-80 (Unesco
// Technical Papers in Marine Science 44, 1983): tempC in °C (IPTS-68), salinity on the practical
// scale, valid for 0–40 °C and 0–42.
func WaterDensity(tempC, salinity float64) float64 {
	t, s := tempC, salinity
	fresh := 999.842594 + t*(6.793952e-2+t*(-9.095290e-3+t*(1.001685e-4+t*(-1.120083e-6+t*6.536332e-9))))
	a := 8.24493e-1 + t*(-4.0899e-3+t*(7.6438e-5+t*(-8.2467e-7+t*5.3875e-9)))
	b := -5.72466e-3 + t*(1.0227e-4-t*1.6546e-6)
	return fresh + a*s + b*s*math.Sqrt(s) + 4.8314e-4*s*s
}

// referenceDensity is the density of fresh water at 15 °C, in which trim_g is stated.
var referenceDensity = WaterDensity(15, 0)

// DepthOfPressure returns the depth in m at a sea-water pressure in dbar (gauge) and a latitude in
// degrees, for water of 0 °C and salinity 35 (Unesco Technical Papers in Marine Science 44, 1983,
// p. 28).
func DepthOfPressure(dbar, latitude float64) float64 {
	x := math.Pow(math.Sin(latitude*math.Pi/180), 2)
	g := 9.780318*(1+(5.2788e-3+2.36e-5*x)*x) + 1.092e-6*dbar
	return (((-1.82e-15*dbar+2.279e-10)*dbar-2.2512e-5)*dbar + 9.72659) * dbar / g
}
