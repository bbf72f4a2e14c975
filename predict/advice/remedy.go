package advice

import (
	"math"

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
			w := q.mended().judge()
			if m.Fuse.MendedA = w.Fuse.BetterA; w.Fuse.Met() {
				m.Fuse.MendedA = &w.Fuse.RatingA
			}
		}
		m.Fuse.BetterOf = q.thicker(power, func(w *Margins) bool { m.Fuse.ThenA = w.Fuse.BetterA; return w.Fuse.BetterA != nil })
		m.Fuse.LessA = largestFuse(m.Fuse.doesForLess)
	}
	if !m.Heating.Met() {
		m.Heating.BetterOf = q.thicker(power, func(w *Margins) bool { return w.Heating.Met() })
	}
	if m.Relay != nil && !m.Relay.Met() {
		m.Relay.BetterOf = q.thicker(signal, func(w *Margins) bool { return w.Relay.Met() })
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

// beyond is how much more resistance the power loop surely has by the log than by the file,
// Ω, 0 for none: of joints, for all that is known, or of another cable.
func (q Question) beyond() (ohm float64) {
	file := q.Cases[0].LoopOhm
	for _, c := range q.Cases[1:] {
		if c.LoopOhm.Low > file.High {
			ohm = max(ohm, c.LoopOhm.Value-file.Value)
		}
	}
	return ohm
}

// mended is the question of the vehicle with its loop as its file has it.
func (q Question) mended() Question {
	file := q.Cases[0].LoopOhm
	with := q
	with.ExcessOhm = 0
	with.Cases = []Case{q.Cases[0]}
	for _, c := range q.Cases[1:] {
		c.Params = append(predict.Params(nil), c.Params...)
		c.Params[predict.LoopOhm] += file.Value - c.LoopOhm.Value
		c.LoopOhm = file
		with.Cases = append(with.Cases, c)
	}
	return with
}

// thicker is the next conductor size sold, mm², with which ok holds; nil where none does
// or there are no conductors. The tether's thickness and its joints are left as they are.
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
		m := predict.NewModel(w)
		with := q
		with.ExcessOhm = 0 // of a cable that is known
		with.Cases = []Case{asBuilt(m, &q.Condition)}
		with.Cases[0].Doubts = q.Cases[0].Doubts
		for _, c := range q.Cases[1:] {
			more := w.Tether.CableOhm(q.Condition.WaterC) - v.Tether.CableOhm(q.Condition.WaterC)
			c.Model = m
			c.LoopOhm = Range{max(c.LoopOhm.Low+more, 0), c.LoopOhm.Value + more, c.LoopOhm.High + more}
			with.Cases = append(with.Cases, c)
		}
		if m := with.judge(); ok(&m) {
			return &area
		}
	}
	return nil
}

// stiffer is the highest resistance of a battery with which ok holds, Ω, to two digits;
// nil where none is low enough.
func (q Question) stiffer(ok func(*Margins) bool) *float64 {
	holds := func(ohm float64) bool {
		with := q
		with.Cases = nil
		for _, c := range q.Cases {
			c.Params = append(predict.Params(nil), c.Params...)
			c.Params[predict.BatteryOhm] += ohm - c.Battery.Value
			c.Battery = Range{ohm, ohm, ohm}
			with.Cases = append(with.Cases, c)
		}
		m := with.judge()
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
	lo = math.Floor(lo/digit) * digit // to two digits, never more
	return &lo
}
