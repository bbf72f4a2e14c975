package advice

import (
	"math"

	"sagline/predict"
	"sagline/predict/vehicle"
)

// stiffness holds a tube material's Young's modulus in Pa, Poisson's ratio and the stress in Pa at
// which its weakest kind yields, at room temperature; handbook values from memory.
var stiffness = map[string]struct{ e, nu, yield float64 }{
	"pvc": {2.8e9, 0.38, 45e6}, "abs": {2.2e9, 0.39, 35e6}, "acrylic": {3.0e9, 0.37, 60e6}, "aluminium": {69e9, 0.33, 110e6},
}

// collapseSafety divides the pressure at which a tube collapses or yields: ovality, creep and end
// caps make the real limit lower. Common practice, no source.
const collapseSafety = 4.0

// brackish is the density in kg/m³ above which water counts as sea water.
const brackish = 1015

// collapsePa returns the external pressure at which a long thin tube buckles elastically,
// E·t³/(4(1−ν²)R³) with mean radius R (Roark's Formulas for Stress and Strain, table 35 case 19a;
// Moser, Buried Pipe Design, eq. 3.14).
func collapsePa(e, nu, wall, radius float64) float64 {
	return e * math.Pow(wall/radius, 3) / (4 * (1 - nu*nu))
}

// DeepestM returns the depth in water of density rho (kg/m³) to which a tube may go, with
// collapseSafety; false if its sizes or material are not stated. It is a guide for doubt, never a
// promise.
func DeepestM(t *vehicle.Tube, rho float64) (float64, bool) {
	s, ok := stiffness[t.Material]
	if !ok || t.WallMM <= 0 || t.OuterMM <= 2*t.WallMM {
		return 0, false
	}
	radius := (t.OuterMM - t.WallMM) / 2
	p := min(collapsePa(s.e, s.nu, t.WallMM, radius), s.yield*t.WallMM/radius) / collapseSafety // hoop stress p·R/t
	if rho > brackish {
		return predict.DepthOfPressure(p/1e4, 45), true
	}
	return p / (rho * predict.Gravity), true
}

// FloodedG returns how much heavier a tube gets in g when it fills with water of density rho
// (kg/m³). The thickness of end caps is left out.
func FloodedG(t *vehicle.Tube, rho float64) float64 {
	bore := max(t.OuterMM-2*t.WallMM, 0) / 1000
	return 1000 * rho * math.Pi / 4 * bore * bore * t.LengthMM / 1000
}

// A TubeDepth compares a sealed tube's guide with the greatest depth that was logged or is planned,
// m.
type TubeDepth struct {
	Name     string  `json:"name"`
	DeepestM float64 `json:"deepest_m"` // its guide, rounded down to 0.1 m
	DepthM   float64 `json:"depth_m"`
	Index    int     `json:"-"` // of the vehicle's tubes
	Sea      bool    `json:"-"` // the guide is for sea water, not for fresh
}

// Met reports whether the tube stays above its guide.
func (t *TubeDepth) Met() bool { return t.DepthM <= t.DeepestM }

// Tubes returns the sealed tubes whose guide is known, for a depth in water of density rho.
func Tubes(v *vehicle.Vehicle, rho, depth float64) (out []TubeDepth) {
	for i := range v.Tubes {
		t := &v.Tubes[i]
		if deepest, ok := DeepestM(t, rho); ok && t.IsSealed() {
			out = append(out, TubeDepth{t.Name, math.Floor(10*deepest) / 10, depth, i, rho > brackish})
		}
	}
	return out
}

// TypicalDepth returns a default depth, m, limited to a length of tether and the guides of the tubes
// in water of density rho (kg/m³).
func TypicalDepth(v *vehicle.Vehicle, depth, length, rho float64) float64 {
	depth = min(depth, length)
	for _, t := range Tubes(v, rho, depth) {
		depth = min(depth, t.DeepestM)
	}
	return depth
}
