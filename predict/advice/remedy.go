package advice

import (
	"fmt"
	"math"
	"slices"

	"sagline/predict"
	"sagline/predict/vehicle"
)

// remedy names what would meet the margins that are not met, each alone.
func (q Question) remedy(m *Margins) {
	power := func(v *vehicle.Vehicle) *vehicle.Conductor { return &v.Tether.Power }
	signal := func(v *vehicle.Vehicle) *vehicle.Conductor { return &v.Tether.Signal }
	m.beyondOhm = q.beyond()
	if m.Fuse.BetterA == nil {
		if m.beyondOhm > 0 {
			w := q.Mended().judge()
			if m.Fuse.MendedA = w.Fuse.BetterA; w.Fuse.Met() {
				m.Fuse.MendedA = &w.Fuse.RatingA
			}
		}
		cool := func(w *Margins) bool { return w.Fuse.BetterA != nil && w.Heating.Met() } // what is bought for the fuse must not get hot
		m.Fuse.BetterOf = q.thicker(power, func(w *Margins) bool { m.Fuse.ThenA = w.Fuse.BetterA; return cool(w) })
		m.Fuse.ShorterM = q.shorter(func(w *Margins) bool { m.Fuse.OnShorterA = w.Fuse.BetterA; return cool(w) })
		if m.Fuse.LessA = largestFuse(m.Fuse.doesForLess); m.Fuse.LessA != nil && m.Fuse.AtATimeA() < q.lightestA() {
			m.Fuse.LessA = nil // nothing can run on it
		}
	}
	if !m.Heating.Met() {
		m.Heating.BetterOf = q.thicker(power, func(w *Margins) bool { return w.Heating.Met() })
	}
	if m.Relay != nil && !m.Relay.PullsIn() {
		m.Relay.BetterOf = q.thicker(signal, func(w *Margins) bool { return w.Relay.PullsIn() })
	}
	if m.Camera != nil && !m.Camera.Met() {
		m.Camera.Better = q.thicker(power, func(w *Margins) bool { return w.Camera.Met() })
	}
	if m.Lights != nil && !m.Lights.Met() {
		m.Lights.Better = q.thicker(signal, func(w *Margins) bool { return w.Lights.Met() })
	}
	if m.Battery != nil && !m.Battery.Met() {
		m.Battery.Better = q.stiffer(func(w *Margins) bool { return w.Battery.Met() })
	}
}

// beyond returns how much more resistance the power loop surely has by the log than by the file, Ω,
// 0 for none. It may be in the joints or in a cable other than the file's.
func (q Question) beyond() (ohm float64) {
	file := q.Cases[0].LoopOhm
	for _, c := range q.Cases[q.built:] {
		if c.LoopOhm.Low > file.High {
			ohm = max(ohm, c.LoopOhm.Value-file.Value)
		}
	}
	return ohm
}

// Mended returns the question for the vehicle with its loop as in its file.
func (q Question) Mended() Question {
	file := q.Cases[0].LoopOhm
	q.ExcessOhm = 0
	return q.changed(q.built, func(c Case) Case { return c.withLoop(file) })
}

// changed returns the question with its cases changed from the i-th on.
func (q Question) changed(i int, change func(Case) Case) Question {
	q.Cases = slices.Clone(q.Cases)
	for ; i < len(q.Cases); i++ {
		q.Cases[i] = change(q.Cases[i])
	}
	return q
}

// thicker returns the next conductor size sold, mm², with which ok holds, nil if there is none or
// no conductor. The tether's thickness and its joints stay as they are. A log that hardly tells the
// loop's resistance says nothing about another cable's, as among Purchases.
func (q Question) thicker(of func(*vehicle.Vehicle) *vehicle.Conductor, ok func(*Margins) bool) *float64 {
	v := q.Cases[0].Model.Vehicle
	now := of(v).Area()
	for _, size := range Sizes(SoldIn(of(v), v.Units)) {
		area := size.AreaMM2
		if now <= 0 || area <= now {
			continue
		}
		w := v.Clone()
		of(w).AreaMM2, of(w).AWG, of(w).OhmKM = area, nil, 0
		with := q.on(w)
		with.ExcessOhm = 0   // the new cable's resistance is known
		if q.beyond() == 0 { // otherwise the joints stay as the log shows them
			with = with.Mended()
		}
		if m := with.judge(); ok(&m) {
			return &area
		}
	}
	return nil
}

// shorterBy are the shares of the tether's length that are tried: common practice, no source.
var shorterBy = []float64{0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3}

// shorter returns the longest of some shorter tethers, m, with which ok holds and that reaches the
// depth, nil if there is none.
func (q Question) shorter(ok func(*Margins) bool) *float64 {
	v := q.Cases[0].Model.Vehicle
	for _, share := range shorterBy {
		length := math.Floor(share * v.Tether.LengthM)
		if length < 1 || length <= q.DepthM {
			return nil
		}
		w := v.Clone()
		if w.Set(fmt.Sprintf("tether.length_m=%g", length)) != nil {
			return nil
		}
		with := q.on(w)
		with.Condition.TetherOutM = min(with.Condition.TetherOutM, length)
		if m := with.judge(); ok(&m) {
			return &length
		}
	}
	return nil
}

// on returns the question for the vehicle with the tether of another.
func (q Question) on(w *vehicle.Vehicle) Question {
	m := predict.NewModel(w)
	more := w.Tether.CableOhm(q.Condition.WaterC) - q.Cases[0].Model.Vehicle.Tether.CableOhm(q.Condition.WaterC)
	with := q.changed(q.built, func(c Case) Case {
		c.Model = m
		c.LoopOhm = Range{max(c.LoopOhm.Low+more, 0), c.LoopOhm.Value + more, c.LoopOhm.High + more}
		return c
	})
	for i, c := range q.Cases[:q.built] {
		with.Cases[i] = asBuilt(m, &q.Condition)
		if q.Guessed == nil {
			with.Cases[i] = with.Cases[i].withBattery(c.Battery)
		}
		with.Cases[i].Doubts = c.Doubts
	}
	return with
}

// lightestA returns the least current that one thruster alone likely draws, A.
func (q Question) lightestA() float64 {
	c, least := q.Condition, math.Inf(1)
	c.Electrical, c.Climbing = true, false
	for i := range q.Cases[0].Model.Vehicle.Thrusters {
		alone := make([]int8, len(q.Cases[0].Model.Vehicle.Thrusters))
		alone[i] = 1
		least = min(least, heaviest(q.Cases, &c, [][]int8{alone}, q.Rest, q.Rest.High).amps.Value)
	}
	return least
}

// stiffer returns the highest resistance of a battery with which ok holds, Ω, to two digits, nil if
// none is low enough.
func (q Question) stiffer(ok func(*Margins) bool) *float64 {
	holds := func(ohm float64) bool {
		w := q.Cases[0].Model.Vehicle.Clone()
		if w.Set(fmt.Sprintf("battery.resistance_ohm=%g", ohm)) != nil {
			return false
		}
		stated := asBuilt(predict.NewModel(w), &q.Condition).Battery // with the tolerance of a stated one
		m := q.changed(0, func(c Case) Case { return c.withBattery(stated) }).judge()
		return ok(&m)
	}
	lo, hi := 1e-3, q.Cases[0].Battery.High
	for _, c := range q.Cases {
		hi = max(hi, c.Battery.High)
	}
	if !holds(lo) {
		return nil
	}
	for hi-lo > 0.01*lo {
		if mid := (lo + hi) / 2; holds(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	digit := math.Pow(10, math.Floor(math.Log10(lo))-1)
	lo = math.Floor(lo/digit) * digit // rounded down
	return &lo
}
