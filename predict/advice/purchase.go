package advice

import (
	"fmt"
	"math"
	"slices"

	"sagline/predict"
	"sagline/predict/vehicle"
	"sagline/session/units"
)

// A Size is a conductor as it is sold.
type Size struct {
	Name    string // "2.5 mm²", "AWG 14"
	AreaMM2 float64
}

// Sizes returns the conductors in the shops of people who use a system of units: the areas of IEC
// 60228, or the even American Wire Gauges (common practice, no source).
func Sizes(u units.System) (out []Size) {
	if u != units.Imperial {
		for _, a := range nominalAreas {
			out = append(out, Size{fmt.Sprintf("%g mm²", a), a})
		}
		return out
	}
	for gauge := 20.0; gauge >= 6; gauge -= 2 {
		out = append(out, Size{fmt.Sprintf("AWG %g", gauge), vehicle.AWGArea(gauge)})
	}
	return out
}

// SoldIn returns the system of units in which the owner of a conductor buys another: Imperial if
// the file states a gauge, else the units in which results are shown.
func SoldIn(c *vehicle.Conductor, u units.System) units.System {
	if c.AWG != nil {
		return units.Imperial
	}
	return u
}

// sizeName names a conductor as it is sold, with the number side by side in a leg if there are
// several.
func sizeName(u units.System, areaMM2 float64, parallel int) string {
	name := fmt.Sprintf("%.3g mm²", areaMM2)
	for _, s := range Sizes(u) {
		if s.AreaMM2 == areaMM2 {
			name = s.Name
		}
	}
	if parallel > 1 {
		return fmt.Sprintf("%d × %s a leg", parallel, name)
	}
	return name
}

const (
	// HighestV is the label's voltage beyond which nothing is proposed: extra-low voltage for
	// direct current in the dry, IEC 60364-4-41 (from memory).
	HighestV = 60.0
	// soldShare is how much more resistance a bought cable's conductors may have than our formula
	// gives: IEC 60228's maxima of class 5 are up to 13.45 % above.
	soldShare = 0.1345
	// thicknessDoubt is the factor either way by which the copper's share of a thicker tether's
	// added cross-section is uncertain; common practice, no source.
	thicknessDoubt = 2.0
	jacketGCM3     = 1.4 // PVC as in cords, handbook value from memory
)

// Wanted is what a purchase must give; 0 is no demand.
type Wanted struct {
	SpeedMS  float64 `json:"speed_m_s"`
	VehicleV float64 `json:"vehicle_v"` // under load, all surge thrusters ahead or, without any, all heave thrusters up
	FuseA    float64 `json:"fuse_a"`    // fuse that must meet its margin; 0: any standard one
}

// A Purchase is a tether and a battery that can be bought, and what the vehicle would do with them,
// with all surge thrusters ahead or, if it has none, all heave thrusters up.
type Purchase struct {
	Conductor    string   `json:"conductor"`
	AreaMM2      float64  `json:"area_mm2"`
	LengthM      float64  `json:"length_m"`
	BatteryV     float64  `json:"battery_v"` // its label
	LoopOhm      Range    `json:"loop_ohm"`
	VehicleV     Range    `json:"vehicle_v"`
	SpeedMS      *Range   `json:"speed_m_s"`     // nil: no surge thruster
	ClimbMS      *Range   `json:"climb_m_s"`     // nil: no heave thruster
	EnduranceMin *Range   `json:"endurance_min"` // nil: capacity unknown
	FuseA        *float64 `json:"fuse_a"`        // the largest standard one that meets the margin
	DiameterMM   float64  `json:"tether_diameter_mm"`
	DragAreaM2   float64  `json:"tether_drag_area_m2"` // the tether's part
	WeightGM     float64  `json:"tether_weight_g_m"`   // in water, before floats are added
	Lacks        []string `json:"lacks"`               // demands that it fails, and margins not met
}

// A Buyer is a vehicle whose tether or battery is to be bought. Tethers are new, with one conductor
// a leg and the file's joints. A battery of another label is new too: same chemistry and capacity,
// with minimum voltage and the resistance of the sound battery in proportion to its cells.
type Buyer struct {
	Vehicle     *vehicle.Vehicle
	Params      predict.Params   // the best estimate of the vehicle
	BatterySD   float64          // one standard deviation of the battery's resistance in Params, Ω
	Thrusters   []predict.Params // doubts of the thrusters, as ByLog takes them; nil without a log
	Condition   predict.Condition
	DepthM      float64 // the greatest that was logged or is planned
	SoundOhm    float64 // by how much the sound battery's resistance exceeds the file's, Ω: a new one's does too
	CopperShare float64
	Wanted      Wanted
	Ranges      Over
}

// Purchases returns all combinations of conductor sizes, lengths in m and battery labels in V.
func (b *Buyer) Purchases(sizes []Size, lengths, batteries []float64) (out []Purchase) {
	for _, volts := range batteries {
		for _, length := range lengths {
			for _, s := range sizes {
				out = append(out, b.purchase(s, length, volts))
			}
		}
	}
	return out
}

// Assumes words what the purchases take for granted.
func (b *Buyer) Assumes() []string {
	return []string{
		filled(b.CopperShare) + fmt.Sprintf(", twice or half as much is allowed for; two-core cords to IEC 60227 have %.0f %%", 100*CopperShare),
		fmt.Sprintf("a bought conductor resists up to %.0f %% more than its area says, as IEC 60228 lets class 5; copper-clad aluminium more still (common practice, no source)", 100*soldShare),
		"weight in water by copper and PVC, before floats; the climb is with today's weight per metre, floated again",
		"a new tether has one conductor a leg, and joints as the file has them",
		"a battery of another voltage: same chemistry and Ah, resistance by its cells; relay coils, lights and camera must be rated for it",
		fmt.Sprintf("where people swim no more than %.0f V of direct current (IEC 60364-7-702)", vehicle.MostInWaterV),
	}
}

// fitted returns the vehicle with a purchase, and its Params.
func (b *Buyer) fitted(s Size, length, volts, share float64) (*vehicle.Vehicle, predict.Params) {
	w, p := b.Vehicle.Clone(), slices.Clone(b.Params)
	resize(b.Vehicle, s.AreaMM2, 1, share).Apply(w, p)
	w.Tether.LengthM = length
	rebattery(w, volts)
	SetBattery(b.Vehicle, w, p, b.SoundOhm)
	for k, x := range b.fixed(volts) {
		p[k] = x
	}
	return w, p.ReadAsIs()
}

// fixed returns the parameters that a purchase sets anew.
func (b *Buyer) fixed(volts float64) map[int]float64 {
	out := map[int]float64{predict.LoopOhm: 0, predict.SagVPerMinute: 0}
	if times := volts / b.Vehicle.Battery.NominalV; times != 1 {
		out[predict.BatteryOhm] = b.SoundOhm * times
	}
	return out
}

func (b *Buyer) purchase(s Size, length, volts float64) Purchase {
	w, p := b.fitted(s, length, volts, b.CopperShare)
	c := b.Condition
	if c.TetherOutM = length; b.Condition.TetherOutM > 0 {
		c.TetherOutM = min(b.Condition.TetherOutM, length)
	}
	q := Ask(w, c, b.DepthM)
	built := &q.Cases[0]
	joints := w.Belief("tether.power.joints_ohm")
	built.LoopOhm.High = built.LoopOhm.Value + math.Hypot(w.Tether.CableOhm(c.WaterC)*soldShare, joints.High-w.Tether.Power.JointsOhm)
	out := Purchase{Conductor: s.Name, AreaMM2: s.AreaMM2, LengthM: length, BatteryV: volts, LoopOhm: built.LoopOhm, DiameterMM: w.Tether.DiameterMM,
		WeightGM: weightGM(&w.Tether), Lacks: []string{}}
	m := built.Model
	noTether := w.Clone()
	noTether.Tether.DiameterMM = 0
	out.DragAreaM2 = AllAhead(m, c, p).DragAreaM2 - AllAhead(predict.NewModel(noTether), c, p).DragAreaM2
	out.run(b, m, c, p, s)
	byLog := ByLog(m, &c, p, 0, b.BatterySD*volts/b.Vehicle.Battery.NominalV, b.Thrusters...)
	byLog.LoopOhm = built.LoopOhm
	if b.Thrusters != nil {
		q.Logged(byLog)
	} else {
		q.Cases = append(q.Cases, byLog)
	}
	out.judge(b, w, q)
	return out
}

// weightGM returns the weight in water of a metre of a fitted tether without floats, g: copper and
// jacket less the fresh water that they displace.
func weightGM(t *vehicle.Tether) float64 {
	all, copper := math.Pi/4*t.DiameterMM*t.DiameterMM, 2*t.Power.Copper() // mm², or cm³ per metre
	return copper*vehicle.CopperGCM3 + (all-copper)*jacketGCM3 - all
}

// run fills in what the vehicle does. Ranges combine, by the root of the sum of squares, those from
// the vehicle, the conductor's resistance, the tether's thickness and its skin drag, each alone.
func (x *Purchase) run(b *Buyer, m *predict.Model, c predict.Condition, p predict.Params, s Size) {
	solve := func(m *predict.Model, p predict.Params) []float64 {
		o := AllAhead(m, c, p)
		climb, _ := AllUp(m, c, p)
		out := []float64{o.VehicleV, o.SpeedMS, climb, 0}
		if o.EnduranceMin != nil {
			out[3] = *o.EnduranceMin
		}
		return out
	}
	values := solve(m, p)
	times, shift := x.BatteryV/b.Vehicle.Battery.NominalV, b.Vehicle.Battery.RestV()-b.typicalRest()
	ranges := b.Ranges(values, b.fixed(x.BatteryV), func(q predict.Params) []float64 {
		q = q.ReadAsIs()
		q[predict.OpenCircuitV] = (q[predict.OpenCircuitV] + shift) * times
		return solve(m, q)
	})
	loop := func(ohm float64) []float64 {
		q := slices.Clone(p)
		q[predict.LoopOhm] += ohm - x.LoopOhm.Value
		return solve(m, q)
	}
	tether := func(share, skin float64) []float64 {
		w, _ := b.fitted(s, x.LengthM, x.BatteryV, share)
		w.Tether.SkinDrag = skin
		return solve(predict.NewModel(w), p)
	}
	skin := b.Vehicle.Belief("tether.skin_drag") // dives with little tether out do not tell it
	widen(ranges, loop(x.LoopOhm.Low), loop(x.LoopOhm.High))
	widen(ranges, tether(b.CopperShare/thicknessDoubt, skin.Value), tether(b.CopperShare*thicknessDoubt, skin.Value))
	widen(ranges, tether(b.CopperShare, skin.Low), tether(b.CopperShare, skin.High))
	x.VehicleV = ranges[0]
	if _, surges := drives(m.Vehicle, true); surges {
		x.SpeedMS = &ranges[1]
	}
	if _, climbs := AllUp(m, c, p); climbs {
		x.ClimbMS = &ranges[2]
	}
	if AllAhead(m, c, p).EnduranceMin != nil {
		x.EnduranceMin = &ranges[3]
	}
}

// typicalRest returns the mean rest voltage in Ranges, which is that of the log's dives, not of a
// full battery as needed here.
func (b *Buyer) typicalRest() float64 {
	sum, n := 0.0, 0.0
	b.Ranges([]float64{0}, nil, func(p predict.Params) []float64 {
		sum, n = sum+p[predict.OpenCircuitV], n+1
		return []float64{0}
	})
	if n == 0 {
		return b.Vehicle.Battery.RestV()
	}
	return sum / n
}

// widen widens ranges by one more unknown; one and other are the results at the ends of its own
// range.
func widen(ranges []Range, one, other []float64) {
	for k := range ranges {
		r := &ranges[k]
		x := r.Value
		r.Low = x - math.Hypot(x-r.Low, x-min(one[k], other[k], x))
		r.High = x + math.Hypot(r.High-x, max(one[k], other[k], x)-x)
	}
}

// judge names what a purchase lacks.
func (x *Purchase) judge(b *Buyer, w *vehicle.Vehicle, q Question) {
	if b.Wanted.FuseA > 0 {
		w.Battery.FuseA = b.Wanted.FuseA
	}
	m := q.judge()
	x.FuseA = m.Fuse.BetterA
	lacks := func(what string, short bool) {
		if short {
			x.Lacks = append(x.Lacks, what)
		}
	}
	switch {
	case x.SpeedMS != nil:
		lacks("speed", x.SpeedMS.Low < b.Wanted.SpeedMS)
	case x.ClimbMS != nil:
		lacks("climb", x.ClimbMS.Low < b.Wanted.SpeedMS)
	}
	lacks("volts", x.VehicleV.Low < b.Wanted.VehicleV)
	lacks("fuse", b.Wanted.FuseA == 0 && x.FuseA == nil)
	for _, name := range m.NotMet() {
		tubes := slices.ContainsFunc(w.Tubes, func(t vehicle.Tube) bool { return name == "tube "+t.Name }) // no cable changes these
		lacks(name, (name != "fuse" || b.Wanted.FuseA > 0) && !tubes)
	}
	lacks("reach", x.LengthM < b.DepthM)
	lacks("motors", Overruns(b.Vehicle, q))
}

// Overruns reports whether a thruster may get a higher voltage than its motor is taken to bear: by its
// test or, where the file states none, that of a full battery of today's label.
func Overruns(today *vehicle.Vehicle, q Question) bool {
	if m := q.motors(); m != nil {
		return !m.Met()
	}
	bears := today.RestBelief().High
	for i := range today.Thrusters {
		bears = max(bears, today.Thrusters[i].TestV)
	}
	return q.motorV() > bears
}

// motorV returns the highest voltage that a thruster may get, V.
func (q Question) motorV() (most float64) {
	c := q.Condition
	c.Electrical = true
	var pt predict.Point
	for i := range q.Cases {
		most = max(most, q.Cases[i].over(q.Rest, func(p predict.Params) []float64 {
			volts := 0.0
			for _, c.Sign = range q.Drives {
				if slices.ContainsFunc(c.Sign, func(s int8) bool { return s != 0 }) {
					q.Cases[i].Model.Solve(&c, p, &pt, nil)
					volts = max(volts, pt.Volts)
				}
			}
			return []float64{volts}
		})[0].High)
	}
	return most
}
