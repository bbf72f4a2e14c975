package causes

import (
	"slices"
	"strings"

	"sagline/predict"
	"sagline/predict/vehicle"
)

// Table returns what may have changed of a vehicle and its log. Probabilities per dive and sizes
// are common practice, no source: joints and seals are what such vehicles lose most, ballast and
// another battery what people forget to write; a meter that goes wrong is rarer than either. Sizes
// are those at which people act. One dive alone is common for what can catch on a vehicle or be
// carried along, and rare for what must break to change.
func Table(v *vehicle.Vehicle) []Cause {
	all := append(append(ofVehicle(), allMotors(v)), ofThrusters(v)...)
	if len(v.Thrusters) == 1 {
		all = ofOne(v, all)
	}
	for i := range all {
		all[i].enlarge(v)
		all[i].ofBattery(v)
	}
	repaired := repairs(all)
	all = append(all, ofInstruments()...)
	all = append(all, notLogged(v)...)
	all = append(all, otherPropellers(v)...)
	return append(all, repaired...)
}

// usualA is the static test's current, A, of the motors that friction's usual sizes are of: those of
// larger ones are in proportion. Common practice, no source. Unscaled, a motor of 13 A that draws 4 A
// more was jammed, over 0.99.
const usualA = 7.0

// enlarge scales the sizes of friction to the vehicle's motors, or to the one that the cause is of.
func (c *Cause) enlarge(v *vehicle.Vehicle) {
	by := 1.0
	for i := range v.Thrusters {
		if k := c.Param(); k == predict.FrictionA || k == predict.OfThruster(i, predict.OneFrictionA) {
			by = max(by, v.Thrusters[i].TestA/usualA)
		}
	}
	if by == 1 {
		return
	}
	c.Amplitudes[0].Step *= by
	c.Amplitudes[0].Ramp *= by
}

// usualOhm is the resistance, Ω, of the batteries that usual sizes are of: those of others are in
// proportion. Common practice, no source: one that is aged has half as much again to twice its resistance, a
// loose post adds several times that.
const usualOhm = 0.045

// ofBattery scales the sizes of a battery that wears to the vehicle's. With those of another battery scaled
// too, one of 80 sound seasons of a simulator with other physics had an alarm more.
func (c *Cause) ofBattery(v *vehicle.Vehicle) {
	if c.Param() == predict.BatteryOhm && v.Battery.ResistanceOhm > usualOhm {
		c.Amplitudes[0].Step *= v.Battery.ResistanceOhm / usualOhm
		c.Amplitudes[0].Ramp *= v.Battery.ResistanceOhm / usualOhm
	}
}

// repairs returns the rows of what may have become better than in the first dives, without a line
// that says why: the vehicle was not sound then. For the battery and for buoyancy, another battery
// and ballast are the rows.
func repairs(all []Cause) (out []Cause) {
	for _, c := range all {
		if !c.Tracked || c.Scale.Absolute || c.Name == "ingress" {
			continue
		}
		name := "not_logged:repair:" + c.Name
		amplitude := c.Amplitudes[0]
		amplitude.Ramp = 0
		out = append(out, Cause{Name: name, Quantity: name, Kind: NotLogged, Mends: c.Name, Bounded: true, Amplitudes: []Amplitude{amplitude}, Worse: -c.Worse,
			Step: 0.0003, Once: 0.0006, Cleared: c.Cleared, Scale: c.Scale,
			Words: c.Words + ", as if mended", What: c.Words + " has become better, and no line says what was done",
			Check: "write under serviced what was done before that dive, or as a [[change]] what was rebuilt; if nothing was, look how these readings were taken"})
	}
	return out
}

// Prior probabilities, given the cause, of the ways in which it may enter other than its first:
// common practice, no source. A chipped or bent blade often takes less torque too.
// Water that a seal lets in is often let out before the next dive.
const (
	otherWay   = 0.1
	lighterWay = 0.2
	slipping   = 0.2 // a propeller that slips on its shaft takes no more torque than its seat holds, and pushes as much less
	withinDive = 0.3
)

// torque returns the other ways of a propeller that pushes less: a broken blade also takes less
// torque, by three quarters as much (a tip that is gone takes off about as much of either), a half or
// a quarter; weed takes more. Without the first, a broken blade was a bad contact, over 0.99.
func torque(thrust, torque int) []Way {
	by := func(share, p float64) Way { return Way{Terms: []Term{{thrust, 1}, {torque, share}}, P: p} }
	return []Way{by(0.75, lighterWay/3), by(0.5, lighterWay/3), by(0.25, lighterWay/3), by(-0.5, otherWay)}
}

// slips returns the same of one propeller, which may also slip on its shaft. Readings hardly tell that from
// wiring with more resistance: without this way the wiring was told, over 95 %, of 48 of 48 simulated slips.
func slips(thrust, torqueOf int) []Way {
	return append(torque(thrust, torqueOf), Way{Terms: []Term{{thrust, 1}, {torqueOf, 1}}, P: slipping})
}

func ofVehicle() []Cause {
	return []Cause{
		{Name: "power_loop", Tracked: true, Quantity: "excess_resistance_ohm", Amplitudes: one(predict.LoopOhm, 0.15, 0.02), Worse: 1,
			Step: 0.0015, Ramp: 0.004, Once: 0.0002, Cleared: []string{"tether", "joint"},
			Scale: Scale{Unit: "Ω"}, Limit: func(l *vehicle.Limits) float64 { return l.ExcessResistanceOhm },
			Key:   "tether.power.joints_ohm",
			Words: "excess loop resistance", What: "the power loop has gained resistance",
			Check: "with the battery unplugged, measure the loop with the vehicle end shorted, flex each joint while reading it, and re-make the one that moves; take the short away afterwards"},
		{Name: "intermittent_contact", Quantity: "excess_resistance_ohm", Contact: predict.LoopOhm, Worse: 1,
			Step: 0.001, Once: 0.002, Cleared: []string{"tether", "joint"},
			Scale: Scale{Unit: "Ω"}, Limit: func(l *vehicle.Limits) float64 { return l.ExcessResistanceOhm },
			Words: "intermittent contact", What: "a contact in the power loop comes and goes",
			Check: "hands clear of the blades, move tether and connectors one at a time while one thruster runs, and watch the ammeter"},
		{Name: "thrust", Tracked: true, Quantity: "thrust_factor", Amplitudes: one(predict.LogThrust, 0.15, 0.02), Worse: -1,
			Else: torque(predict.LogThrust, predict.LogTorque), BoundedWay: 4,
			Step: 0.0014, Ramp: 0.0016, Once: 0.003, Cleared: []string{"thruster", "propeller"},
			Scale: Scale{Factor: true}, Limit: func(l *vehicle.Limits) float64 { return l.ThrustFactor },
			Key:   "thruster.*.test_n",
			Words: "thrust", What: "the propellers push less",
			Check: "with the battery unplugged, look for weed, line or a chipped blade, and a propeller loose on its shaft"},
		{Name: "friction", Tracked: true, Quantity: "friction_a", Amplitudes: one(predict.FrictionA, 0.2, 0.03), Worse: 1,
			Step: 0.0003, Ramp: 0.0008, Once: 0.0005, Cleared: []string{"thruster", "propeller"},
			Scale: Scale{Unit: "A"}, Limit: func(l *vehicle.Limits) float64 { return l.FrictionA },
			Key:   "thruster.*.no_load_a",
			Words: "friction", What: "the motors turn harder",
			Check: "with the battery unplugged, turn each propeller by hand; then run each in air for a few seconds and compare its no-load current"},
		{Name: "drag", Tracked: true, Quantity: "drag_factor", Amplitudes: one(predict.LogDrag, 0.35, 0.06), Worse: 1,
			Else: []Way{{Terms: []Term{{predict.LogDrag, 1}, {predict.LogClimbDrag, 0.5}}, P: otherWay}},
			Step: 0.0005, Ramp: 0.0008, Once: 0.003, Cleared: []string{"hull", "tether"},
			Scale: Scale{Factor: true}, Limit: func(l *vehicle.Limits) float64 { return l.DragFactor },
			Key:   "hull.drag_area_m2",
			Words: "drag", What: "the vehicle drags more in the water",
			Check: "look for weed, line or a bag on frame and tether, and for parts that hang out; a pull test with its old value says that the propellers are sound"},
		{Name: "ingress", Tracked: true, Quantity: "ingress_g", Amplitudes: one(predict.TrimG, 40, 5), Worse: -1,
			Else: []Way{{Terms: []Term{{predict.WithinDiveG, 1}}, P: withinDive, When: "in the course of a dive, and has it again at the next"}},
			Step: 0.0015, Ramp: 0.002, Once: 0.0003, Turns: 0.0005, Cleared: []string{"seal", "ballast"},
			Scale: Scale{Unit: "g", Negative: true}, Limit: func(l *vehicle.Limits) float64 { return l.IngressG },
			Key:   "hull.trim_g",
			Words: "water taken in", What: "the vehicle has lost buoyancy",
			Check: "weigh the vehicle dry against its first weight and look for water in tubes and foam; a tube that flooded at depth may be under pressure: open it with care"},
		{Name: "floats", Quantity: "floats_g_m", Amplitudes: one(predict.TrimPerM, 2, 0), Worse: 1,
			Step: 0.0003, Once: 0.0002, Cleared: []string{"tether", "ballast", "hull"}, Scale: Scale{Unit: "g/m"},
			Key:   "tether.weight_g_m",
			Words: "weight gained with depth", What: "the vehicle gets heavier with depth than it did: floats of the tether are lost or have slid, or foam gives way",
			Check: "look whether every float is on the tether, at its place and whole; write down hover weights at two depths"},
		{Name: "battery", Tracked: true, Quantity: "battery_resistance_ohm", Amplitudes: one(predict.BatteryOhm, 0.03, 0.002), Worse: 1,
			Else: []Way{{Terms: []Term{{predict.BatteryOhm, 1}, {predict.LoopMeterOhm, 1}}, P: otherWay}}, // fuse holder or switch before the voltmeter
			Step: 0.0004, Ramp: 0.0016, Once: 0.0005, Cleared: []string{"battery"},
			Scale: Scale{Unit: "Ω", Absolute: true}, Limit: func(l *vehicle.Limits) float64 { return l.BatteryResistanceOhm },
			Key:   "battery.resistance_ohm",
			Words: "battery resistance", What: "the battery sags more under load",
			Check: "charge the battery and let it rest, clean its terminals, the clips and the fuse holder, read as soon after switching on as before, and compare its sag with another battery's"},
		{Name: "insulation", Tracked: true, Quantity: "insulation_megohm", Amplitudes: one(predict.LogInsulation, 2, 0.3), Worse: -1,
			Step: 0.001, Ramp: 0.001, Once: 0.003, Cleared: []string{"tether", "joint", "seal"},
			Scale: Scale{Unit: "MΩ", Factor: true, Absolute: true}, Limit: func(l *vehicle.Limits) float64 { return l.InsulationMegohm },
			Words: "insulation", What: "the power pair leaks to the water",
			Check: "with the battery unplugged and the tether wet, measure each conductor to the water; dry plugs and box, and measure again piece by piece"},
	}
}

// allMotors returns the row of magnets that have weakened in all motors: they ran hot together, or are of
// one age.
func allMotors(v *vehicle.Vehicle) Cause {
	c := Cause{Name: "motor", Quantity: "motor", Amplitudes: []Amplitude{{Step: 0.1, Ramp: 0.015}}, Worse: 1, Bounded: true, MostAtOnce: mostWeakness,
		Step: 0.000003, Ramp: 0.0002, Once: 0.000003, Cleared: []string{"thruster"}, // hardly all at once
		Scale: Scale{Factor: true, Negative: true},
		Key:   "thruster.*.test_a",
		Words: "magnets of all motors", What: "the magnets of all motors have weakened",
		Check: "with the battery unplugged, turn each propeller by hand, for one may be stuck; if they are free, run them in air for a few seconds: weaker magnets turn faster and draw more than before"}
	for i := range v.Thrusters {
		c.Amplitudes[0].Terms = append(c.Amplitudes[0].Terms, Term{predict.OfThruster(i, predict.LogWeakness), 1})
	}
	return c
}

func ofThrusters(v *vehicle.Vehicle) []Cause {
	var out []Cause
	for i := range v.Thrusters {
		out = append(out, ofThruster(i, v.Thrusters[i].Name, stallA(v, i))...)
	}
	return out
}

// ofOne returns the rows of a vehicle with one thruster, which is all of them: its faults have one
// row each, up to the bounds of the one thruster's.
func ofOne(v *vehicle.Vehicle, all []Cause) []Cause {
	for i := range all {
		switch c := &all[i]; c.Name {
		case "friction":
			c.Most = stallA(v, 0)
		case "thrust":
			c.Else = slips(predict.LogThrust, predict.LogTorque)
		case "motor:" + v.Thrusters[0].Name:
			c.Of = ""
		case "lost:" + v.Thrusters[0].Name:
			c.Of, c.Quantity = "thrust", "thrust_factor"
		}
	}
	return slices.DeleteFunc(all, func(c Cause) bool { return c.Of != "" && c.Fails.Thruster == 0 || c.Name == "motor" })
}

// ofThruster returns the rows of thruster i, given its name and its stall current.
func ofThruster(i int, name string, stallA float64) []Cause {
	at := func(what int) int { return predict.OfThruster(i, what) }
	return []Cause{
		{Name: "branch:" + name, Tracked: true, Quantity: "branch_excess_ohm:" + name, Amplitudes: one(at(predict.BranchOhm), 0.2, 0.03), Worse: 1,
			Else: []Way{{[]Term{{at(predict.ReverseOhm), 1}}, otherWay, "in reverse alone"},
				{[]Term{{at(predict.BranchOhm), 1}, {at(predict.ReverseOhm), -1}}, otherWay, "but not in reverse"}},
			Step: 0.001, Ramp: 0.0005, Once: 0.0005, Cleared: []string{"tether", "joint", "thruster"},
			Scale: Scale{Unit: "Ω"}, Limit: func(l *vehicle.Limits) float64 { return l.BranchExcessOhm },
			Key:   "thruster." + name + ".branch_ohm",
			Words: "excess wiring resistance of " + name, What: "the wiring of " + name + " has gained resistance",
			Check: "hands clear of the blades, measure the voltage across the " + name + " thruster's relay contact and leads under load"},
		{Name: "open:" + name, Of: "branch:" + name, Quantity: "branch_excess_ohm:" + name, Fails: Failure{i + 1, Open}, Worse: 1,
			Step: 0.0004, Once: 0.0002, Turns: 0.0002, Cleared: []string{"tether", "joint", "thruster"},
			Key:   "thruster." + name + ".branch_ohm",
			Words: "open circuit of " + name, What: name + " gets next to no current: its circuit is open or as good as open",
			Check: "with the battery unplugged, look for a wire off, a blown fuse of its own, a relay that does not close: an ohmmeter across " + name + "'s leads reads its winding, across its closed relay nothing"},
		{Name: "contact:" + name, Of: "branch:" + name, Quantity: "branch_excess_ohm:" + name, Contact: at(predict.BranchOhm), Worse: 1,
			Step: 0.0006, Cleared: []string{"tether", "joint", "thruster"},
			Scale: Scale{Unit: "Ω"}, Limit: func(l *vehicle.Limits) float64 { return l.BranchExcessOhm },
			Key:   "thruster." + name + ".branch_ohm",
			Words: "intermittent contact of " + name, What: name + " loses current, in some dives more than in others",
			Check: "with the battery unplugged, look at " + name + "'s relay contact, plugs and brushes for what is burnt, loose or worn, and whether its propeller slips on its shaft; then, hands clear of the blades, move its leads one at a time while it runs, and watch the ammeter"},
		{Name: "thrust:" + name, Of: "thrust", Quantity: "thrust_factor:" + name, Amplitudes: one(at(predict.LogOneThrust), 0.2, 0.03), Worse: -1,
			Else: slips(at(predict.LogOneThrust), at(predict.LogOneTorque)), BoundedWay: 4,
			Step: 0.0005, Ramp: 0.0004, Once: 0.001, Cleared: []string{"thruster", "propeller"},
			Scale: Scale{Factor: true}, Limit: func(l *vehicle.Limits) float64 { return l.ThrustFactor },
			Key:   "thruster." + name + ".test_n",
			Words: "thrust of " + name, What: "the propeller of " + name + " pushes less",
			Check: "with the battery unplugged, look at the " + name + " propeller: weed, line, a chipped blade, loose on its shaft"},
		{Name: "lost:" + name, Of: "thrust:" + name, Quantity: "thrust_factor:" + name, Fails: Failure{i + 1, Lost}, Worse: 1,
			Step: 0.0002, Turns: 0.0001, Cleared: []string{"thruster", "propeller"},
			Key:   "thruster." + name + ".test_n",
			Words: "lost propeller of " + name, What: "the propeller of " + name + " is lost or slips on its shaft: it takes next to no torque",
			Check: "with the battery unplugged, look whether the " + name + " propeller is there, whole and fast on its shaft"},
		{Name: "friction:" + name, Of: "friction", Quantity: "friction_a:" + name, Amplitudes: one(at(predict.OneFrictionA), 0.3, 0.05), Worse: 1, Most: stallA,
			Step: 0.0004, Ramp: 0.0006, Once: 0.0005, Cleared: []string{"thruster", "propeller"},
			Scale: Scale{Unit: "A"}, Limit: func(l *vehicle.Limits) float64 { return l.FrictionA },
			Key:   "thruster." + name + ".no_load_a",
			Words: "friction of " + name, What: "the motor of " + name + " turns harder",
			Check: "with the battery unplugged, turn the " + name + " propeller by hand against the others; then run it in air for a few seconds and compare its current"},
		{Name: "motor:" + name, Of: "motor", Quantity: "motor:" + name, Amplitudes: one(at(predict.LogWeakness), 0.1, 0.015), Worse: 1, Bounded: true, MostAtOnce: mostWeakness,
			Step: 0.0001, Ramp: 0.0002, Once: 0.0001, Cleared: []string{"thruster"},
			Scale: Scale{Factor: true, Negative: true},
			Key:   "thruster." + name + ".test_a",
			Words: "magnets of " + name, What: "the magnets of " + name + " have weakened",
			Check: "with the battery unplugged, turn the " + name + " propeller by hand, for it may be stuck; if it is free, run it in air for a few seconds: weaker magnets turn faster and draw more than before"},
		{Name: "stall:" + name, Quantity: "stall:" + name, Fails: Failure{Thruster: i + 1}, Worse: 1,
			Step: 0.0008, Once: 0.0002, Turns: 0.0002, Cleared: []string{"thruster", "propeller"},
			Key:   "thruster." + name + ".test_a",
			Words: "jam of " + name, What: name + " is jammed: it draws its stall current and does not push",
			Check: "switch " + name + " off at once: its winding may burn within seconds; unplug the battery, then free the propeller"},
	}
}

// stallC is the water temperature, °C, at which a thruster's stall current is taken.
const stallC = 20.0

// mostWeakness is the most that magnets lose at once, a logarithm: a motor that was overheated keeps two
// thirds of its flux or more, common practice, no source. One that seems to have lost more stands.
const mostWeakness = 0.35

// stallA is the stall current of thruster i alone on a battery at its nominal voltage, A.
func stallA(v *vehicle.Vehicle, i int) float64 {
	t := &v.Thrusters[i]
	return v.Battery.NominalV / (t.ArmatureOhm + t.BranchOhm + v.LoopOhm(stallC) + v.Battery.ResistanceOhm)
}

// Either returns the cause worded for any one of rows, the same cause of different thrusters,
// itself among them; its check names all thrusters.
func (c *Cause) Either(rows []*Cause) *Cause {
	var names []string
	for _, r := range rows {
		_, name, _ := strings.Cut(r.Name, ":")
		names = append(names, name)
	}
	out := *c
	kind, _, _ := strings.Cut(out.Name, ":")
	either, all := ofThruster(0, strings.Join(names, " or "), 0), ofThruster(0, strings.Join(names, " and "), 0)
	for i := range either {
		if strings.HasPrefix(either[i].Name, kind+":") {
			out.Words, out.What, out.Check = either[i].Words, either[i].What, all[i].Check
		}
	}
	return &out
}

func ofInstruments() []Cause {
	return []Cause{
		{Name: "instrument:current_a", Quantity: "instrument:current_a", Kind: Instrument, Amplitudes: one(predict.LogClamp, 0.05, 0.01),
			Step: 0.0007, Ramp: 0.0001, Once: 0.0005, Turns: 0.0002, Cleared: []string{"clamp"}, Scale: Scale{Factor: true},
			Key:   "instruments.current_a",
			Words: "gain of the clamp meter", What: "the clamp meter reads all currents too high or too low by the same share",
			Check: "zero the clamp away from the wire, then read a known load (a lamp of stated watts, another meter in series)"},
		{Name: "instrument:current_a:zero", Of: "instrument:current_a", Quantity: "instrument:current_a", Kind: Instrument, Amplitudes: one(predict.ClampZeroA, 0.3, 0.05),
			Step: 0.0007, Ramp: 0.0001, Once: 0.001, Turns: 0.0002, Cleared: []string{"clamp"}, Scale: Scale{Unit: "A"},
			Key:   "instruments.current_a",
			Words: "zero of the clamp meter", What: "the clamp meter's zero has moved",
			Check: "zero the clamp away from the wire, then read a known load (a lamp of stated watts, another meter in series)"},
		{Name: "instrument:voltage", Quantity: "instrument:voltage", Kind: Instrument, Amplitudes: one(predict.LogVolts, 0.015, 0.003),
			Step: 0.0005, Ramp: 0.0001, Once: 0.0002, Turns: 0.0002, Cleared: []string{"voltmeter"}, Scale: Scale{Factor: true},
			Words: "voltmeter", What: "all voltages are read too high or too low by the same share",
			Check: "compare the voltmeter with another on the rested battery, and put a fresh battery into it"},
		{Name: "instrument:voltage:place", Of: "instrument:voltage", Quantity: "instrument:voltage:place", Kind: Instrument,
			Amplitudes: []Amplitude{{Terms: []Term{{predict.BatteryOhm, 1}, {predict.LoopOhm, -1}}, Step: 0.03}},                  // no more than a battery wears, whose resistance is free in each dive by the largest of these
			Else:       []Way{{Terms: []Term{{predict.BatteryOhm, 1}, {predict.LoopOhm, -1}, {predict.LoopMeterOhm, 1}}, P: 0.5}}, // the ohmmeter stays where it was
			Step:       0.00001, Once: 0.00003, Turns: 0.00001, Cleared: []string{"voltmeter"}, Scale: Scale{Unit: "Ω"},
			Words: "place of the voltmeter", What: "the battery's voltage is read at another place, with fuse, switch or leads before it or no longer",
			Check: "read the battery's voltage at its posts, under load, and then at the usual place; write down which it is"},
		{Name: "instrument:vehicle_v", Quantity: "instrument:vehicle_v", Kind: Instrument, Amplitudes: one(predict.LogVehicleV, 0.02, 0.004),
			Else: []Way{{Terms: []Term{{predict.LogVehicleV, 1}, {predict.LogVolts, -1}}, P: otherWay}},
			Step: 0.0005, Ramp: 0.0001, Once: 0.0003, Turns: 0.0002, Cleared: []string{"voltmeter"}, Scale: Scale{Factor: true},
			Key:   "instruments.vehicle_v",
			Words: "one voltmeter against the other", What: "the voltage at the vehicle is read too high or too low against the battery's",
			Check: "put both voltmeters on the rested battery, one after the other, and compare"},
		{Name: "instrument:loop_ohm", Quantity: "instrument:loop_ohm", Kind: Instrument, Amplitudes: one(predict.LoopMeterOhm, 0.1, 0.02),
			Step: 0.0007, Ramp: 0.0003, Once: 0.001, Cleared: []string{"ohmmeter"}, Scale: Scale{Unit: "Ω"},
			Words: "ohmmeter", What: "the ohmmeter reads too much or too little",
			Check: "short the ohmmeter's leads, note what they read, and take it off every reading; a tarnished joint may read high by an ohmmeter and pass the motors' current: clean it and read again"},
		{Name: "instrument:speed", Quantity: "instrument:speed", Kind: Instrument, Amplitudes: one(predict.LogSpeed, 0.1, 0.02),
			Step: 0.0007, Ramp: 0.0001, Once: 0.001, Cleared: []string{"tape"}, Scale: Scale{Factor: true},
			Key:   "instruments.speed_percent",
			Words: "speed as read", What: "all speeds are read too high or too low by the same share",
			Check: "measure the timed distance with a tape, and time a minute of the stopwatch against a clock"},
		{Name: "instrument:pull", Quantity: "instrument:pull", Kind: Instrument, Amplitudes: one(predict.LogPull, 0.1, 0.02),
			Step: 0.0005, Ramp: 0.0001, Once: 0.001, Cleared: []string{"scale"}, Scale: Scale{Factor: true},
			Key:   "instruments.pull_n",
			Words: "pull as read", What: "all pulls are read too high or too low by the same share",
			Check: "hang something known on the scale: a litre of water is a kilogram; pull in line with the thrust, away from walls"},
		{Name: "instrument:trim", Quantity: "instrument:trim", Kind: Instrument, Amplitudes: one(predict.TrimZeroG, 30, 0),
			Step: 0.0002, Once: 0.0005, Cleared: []string{"scale"}, Scale: Scale{Unit: "g"},
			Words: "scale", What: "the scale's zero has moved",
			Check: "weigh something known on the scale: a litre of water is a kilogram"},
	}
}

// anotherBattery is how many times farther apart two batteries' rest voltages are than one
// battery's from dive to dive; common practice, no source.
const anotherBattery = 2.5

// lessFull is by how much a battery's rest voltage usually falls a dive that comes ever less full, as a
// share of its scatter from dive to dive; common practice, no source.
const lessFull = 0.1

// ballastG is the least usual size of a weight that nobody wrote down, g; ballastShare is its usual
// size as a share of the mass that a heavy vehicle displaces.
const (
	ballastG     = 60.0
	ballastShare = 0.006
)

// reelK is how much warmer than the water a reel in the sun usually is, K: common practice, no
// source.
const reelK = 15.0

// otherDepthM is how much deeper or shallower runs at another place usually are, m: common
// practice, no source.
const otherDepthM = 1.0

// otherClimb is by how much of a steady climb's speed the heave thrusters' lines usually differ where they
// are no longer read as they were: common practice, no source.
const otherClimb = 0.5

// unknownLoadA is one standard deviation of the current of lights or a camera that the file does
// not mention, A: common practice, no source.
const unknownLoadA = 0.5

// saltiest is about the salinity, psu, of the saltiest seas: from memory.
const saltiest = 40.0

func notLogged(v *vehicle.Vehicle) []Cause {
	ballast := max(ballastG, 1000*ballastShare*v.Hull.DisplacedKG)
	out := []Cause{
		{Name: "ballast", Quantity: "ballast_g", Kind: NotLogged, Amplitudes: one(predict.TrimG, ballast, 0),
			Step: 0.0007, Once: 0.002, Cleared: []string{"ballast"}, Scale: Scale{Unit: "g"},
			Key:   "hull.trim_g",
			Words: "ballast not written down", What: "ballast or foam was added or taken off without being written down",
			Check: "count the weights on the frame against the log, and write down what changed as ballast_g"},
		{Name: "not_logged:salinity", Quantity: "not_logged:salinity", Kind: NotLogged, Amplitudes: one(predict.SalinityPSU, 15, 0), Most: saltiest,
			Bounded: true, Step: 0.0002, Once: 0.0003, Turns: 0.0005, Scale: Scale{Unit: "psu"},
			Words: "salinity not written down", What: "the water was saltier or fresher than written down",
			Check: "write down salinity_psu for the dives in salt or brackish water"},
		{Name: "not_logged:battery", Quantity: "not_logged:battery", Kind: NotLogged,
			Amplitudes: []Amplitude{{Terms: []Term{{predict.BatteryOhm, 1}}, Step: 0.015}, {Terms: []Term{{predict.OpenCircuitV, 1}}, Step: anotherBattery * v.Battery.ChargeSD()}},
			Step:       0.0012, Once: 0.002, Turns: 0.0005, Cleared: []string{"battery"}, Scale: Scale{Unit: "Ω"},
			Words: "resistance of a battery not written down", What: "another battery was used, or one less full, without being written down",
			Check: "look which battery it was, and write its label in the column battery; was it read as soon after switching on as before? the same one that no longer comes full: look at its charger, and time how long it lasts"},
		{Name: "not_logged:battery:charge", Quantity: "not_logged:battery", Kind: NotLogged, Of: "not_logged:battery",
			Amplitudes: []Amplitude{{Terms: []Term{{predict.OpenCircuitV, 1}}, Step: anotherBattery * v.Battery.ChargeSD(), Ramp: lessFull * v.Battery.ChargeSD()}}, Worse: -1,
			Bounded: true, Step: 0.0002, Ramp: 0.0004, Cleared: []string{"battery"}, Scale: Scale{Unit: "V"},
			Words: "rest voltage of the battery", What: "the battery comes less full to the dives",
			Check: "look at its charger, and time how long the battery lasts"},
		{Name: "not_logged:reel", Quantity: "not_logged:reel", Kind: NotLogged, Amplitudes: one(predict.ReelK, reelK, 0), Worse: 1,
			Bounded: true, Step: 0.0005, Scale: Scale{Unit: "K"},
			Words: "warmth of the reel", What: "the tether on the reel was warmer than the water, as in the sun",
			Check: "read the loop with all of the tether in the water, or keep the reel in the shade"},
		{Name: "not_logged:depth", Quantity: "not_logged:depth", Kind: NotLogged, Amplitudes: one(predict.AssumedDepthM, otherDepthM, 0),
			Step: 0.002, Once: 0.005, Turns: 0.0005, Scale: Scale{Unit: "m"},
			Words: "depth not written down", What: "the runs are made deeper or shallower than they were, and no line says how deep",
			Check: "write down depth_m on each run: the deeper it is, the more of the tether drags"},
		{Name: "not_logged:climb", Quantity: "not_logged:climb", Kind: NotLogged, Amplitudes: one(predict.ClimbShare, otherClimb, 0),
			Bounded: true, Step: 0.001, Once: 0.003, Turns: 0.0005,
			Words: "share of a climb not written down", What: "the vehicle climbed more or less than it did while its heave thrusters were read, and no line says how fast",
			Check: "read the heave thrusters while the vehicle is held still, and say so on the line, or time the climb on it"},
		{Name: "not_logged:lights", Quantity: "not_logged:lights", Kind: NotLogged, Amplitudes: one(predict.UnloggedA, 0.8, 0), Worse: 1,
			Else: []Way{{[]Term{{predict.UnlitA, 1}}, otherWay, "on lines that say the lights are off"}}, Bounded: true,
			Step: 0.0003, Once: 0.001, Turns: 0.0005, Cleared: []string{"lights"}, Scale: Scale{Unit: "A"},
			Words: "load not written down", What: "something draws a constant current that no line mentions: lights, a camera",
			Check: "look whether the lights were on, and write them down; then look for what else draws current with everything off"},
		{Name: "not_logged:lights:lit", Quantity: "not_logged:lights", Kind: NotLogged, Of: "not_logged:lights", Amplitudes: one(predict.LightsA, 0.8, 0),
			Bounded: true, Step: 0.0006, Once: 0.0005, Turns: 0.0002, Cleared: []string{"lights"}, Scale: Scale{Unit: "A"},
			Words: "current of the lights", What: "the lights draw more or less than they did, on lines that say they are on: a lamp has failed, or another was fitted",
			Check: "look whether every lamp lights; one that was mended or replaced is written down as serviced: lights"},
	}
	if amps := v.Camera.CurrentA; amps > 0 {
		return append(out, Cause{Name: "not_logged:lights:camera", Quantity: "not_logged:lights", Kind: NotLogged, Of: "not_logged:lights", Amplitudes: one(predict.UnloggedA, amps, 0), Worse: -1,
			Bounded: true, Step: 0.0003, Once: 0.0003, Turns: 0.0002, Cleared: []string{"camera"}, Scale: Scale{Unit: "A"},
			Words: "current of the camera", What: "the camera draws less than it did, or was off or taken off without being written down",
			Check: "look whether the camera runs; what was done to it is written down as serviced: camera"})
	}
	return append(out, Cause{Name: "not_logged:lights:gone", Quantity: "not_logged:lights", Kind: NotLogged, Of: "not_logged:lights", Amplitudes: one(predict.UnloggedA, unknownLoadA, 0), Worse: -1,
		Bounded: true, Step: 0.0002, Once: 0.0002, Turns: 0.0001, Cleared: []string{"lights", "camera"}, Scale: Scale{Unit: "A"},
		Words: "a load that is gone", What: "something that drew a constant current in all dives draws it no more: lights or a camera that vehicle.toml does not mention",
		Check: "look whether lights and camera run; what was done to them is written down as serviced"})
}

// otherPropellers returns the rows of propellers changed on all thrusters, on one that drives ahead, or on all of
// those if there are others. The amplitudes are: another pitch; another diameter or number of
// blades, which change thrust and torque alike; better or worse ones.
func otherPropellers(v *vehicle.Vehicle) []Cause {
	all := Cause{Name: "not_logged:propeller", Quantity: "not_logged:propeller", Kind: NotLogged,
		Amplitudes: []Amplitude{{Terms: []Term{{predict.LogPitch, 1}, {predict.LogThrust, 1}, {predict.LogTorque, 1.5}}, Step: 0.15},
			{Terms: []Term{{predict.LogThrust, 1}, {predict.LogTorque, 1}}, Step: 0.15}, {Terms: []Term{{predict.LogThrust, 1}}, Step: 0.07}},
		Bounded: true, Step: 0.0003, Cleared: []string{"propeller", "thruster"}, Scale: Scale{Factor: true},
		Words: "pitch of other propellers", What: "other propellers were fitted without being written down",
		Check: "look which propellers are on, and write the change down as serviced: propeller"}
	ahead := all
	ahead.Name, ahead.Of, ahead.Words = all.Name+":surge", all.Name, "pitch of other propellers ahead"
	ahead.Amplitudes = []Amplitude{{Step: 0.15}, {Step: 0.15}, {Step: 0.07}}
	out := []Cause{all}
	n := 0
	for i := range v.Thrusters {
		if !v.Thrusters[i].Surge() {
			continue
		}
		n++
		pitch, thrust, torque := predict.OfThruster(i, predict.LogOnePitch), predict.OfThruster(i, predict.LogOneThrust), predict.OfThruster(i, predict.LogOneTorque)
		of := [...][]Term{{{pitch, 1}, {thrust, 1}, {torque, 1.5}}, {{thrust, 1}, {torque, 1}}, {{thrust, 1}}}
		if len(v.Thrusters) > 1 {
			one := all
			one.Name, one.Of, one.Step = "not_logged:one_propeller:"+v.Thrusters[i].Name, all.Name, 0.0001
			one.Quantity, one.Words = one.Name, "pitch of another propeller of "+v.Thrusters[i].Name
			one.What = "another propeller was fitted to " + v.Thrusters[i].Name + " without being written down"
			one.Amplitudes = []Amplitude{{Terms: of[0], Step: 0.15}}
			out = append(out, one)
		}
		for k, terms := range of {
			ahead.Amplitudes[k].Terms = append(ahead.Amplitudes[k].Terms, terms...)
		}
	}
	if n == 0 || n == len(v.Thrusters) {
		return out
	}
	out[0].Step /= 2
	ahead.Step /= 2
	return slices.Insert(out, 1, ahead)
}
