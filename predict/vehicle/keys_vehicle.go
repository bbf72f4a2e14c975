package vehicle

import (
	"sagline/session"
)

// Formulas of the medians stand in priors.go.

var thrusterKeys = []key{
	{path: "thruster.*.name", kind: textKind, need: true, is: "what dives.csv calls it", how: "any name without + or comma"},
	{path: "thruster.*.axis", kind: wordKind, words: []string{"surge", "heave"}, need: true, is: "surge pushes ahead and astern, heave up and down", how: "look at it"},
	{path: "thruster.*.arm_mm", kind: settingKind, unit: "mm", low: -3000, high: 3000,
		is: "how far it sits to starboard of the middle, − to port", how: "a ruler",
		prior: prior{median: arm, source: "where no surge thruster states one, all of them together run straight and fewer turn"}},
	{path: "thruster.*.test_v", kind: numberKind, unit: "V", low: 1, high: 60,
		is: "volts at the motor in the static test", how: "a voltmeter at the motor's leads while it pulls in a tub",
		prior: prior{median: testV, spread: percent(5), source: "the battery's label"}, tol: percent(1)},
	{path: "thruster.*.test_a", kind: numberKind, unit: "A", low: 0.05, high: 150,
		is: "amperes in the static test", how: "held still in a tub on short leads, propeller well under, a clamp meter on one lead",
		prior: prior{testA, factor(1.8), []string{"thruster.*.armature_ohm", "thruster.*.no_load_a", "thruster.*.test_v"}, "", "5 A, at any voltage; " + practice}, tol: percent(10)},
	{path: "thruster.*.armature_ohm", kind: numberKind, unit: "Ω", low: 0.005, high: 30,
		is: "resistance of the motor's winding and brushes", how: "hold the shaft still for a second: volts by amperes at the motor",
		prior: prior{armatureOhm, factor(1.4), []string{"thruster.*.test_v", "thruster.*.test_a"}, "", "a propeller loads a motor to about a third of its stall current; " + practice}, tol: percent(15)},
	{path: "thruster.*.no_load_a", kind: numberKind, unit: "A", low: 0.005, high: 50,
		is: "amperes without load", how: "propeller off or in air, a few seconds: shaft seals run dry",
		prior: prior{noLoadA, factor(1.6), []string{"thruster.*.test_a"}, "", "7 % of test_a; " + practice}, tol: percent(20)},
	{path: "thruster.*.no_load_rpm", kind: numberKind, unit: "rpm", low: 50, high: 60000,
		is: "turns a minute without load at test_v", how: "a mark on the shaft under a phone's slow motion: frames for a turn",
		prior: prior{noLoadRPM, factor(1.5), []string{"thruster.*.test_v"}, "", "600 turns a minute a volt; " + practice}, tol: percent(8)},
	{path: "thruster.*.prop_diameter_mm", kind: numberKind, unit: "mm", low: 8, high: 600,
		is: "the propeller's diameter", how: "a ruler across the blades' tips",
		prior: prior{propMM, factor(1.4), []string{"thruster.*.prop_pitch_mm"}, "", "60 mm, or 1.6 times a pitch that is given; " + practice}, tol: percent(3)},
	{path: "thruster.*.prop_pitch_mm", kind: numberKind, unit: "mm", low: 3, high: 600,
		is: "how far the propeller screws forward in a turn", how: "lay it flat: height of a blade's slope at 0.7 of the radius, by its width there, times 2.2 diameters",
		prior: prior{pitchMM, factor(1.35), []string{"thruster.*.prop_diameter_mm"}, "", "0.62 diameters; " + practice}, tol: percent(8)},
	{path: "thruster.*.test_n", kind: numberKind, unit: "N", low: 0.02, high: 2000,
		is: "pull in the static test", how: "held in a tub by a string over a pulley or a lever to a kitchen scale: kilograms times 9.8",
		prior: prior{testN, factor(1.6), []string{"thruster.*.test_v", "thruster.*.test_a", "thruster.*.armature_ohm", "thruster.*.no_load_a", "thruster.*.prop_diameter_mm"}, "",
			"a third of what momentum theory allows for the shaft's watts; " + practice}, tol: percent(20)},
	{path: "thruster.*.branch_ohm", kind: numberKind, unit: "Ω", low: 0, high: 5,
		is: "its relay contact and leads on board", how: "millivolts across them by the amperes through them",
		prior: prior{median: always(0.03), spread: factor(2), source: practice}, tol: plus(0.01)},
	{path: "thruster.*.astern", kind: numberKind, low: 0, high: 1.3,
		is: "pull astern as a share of the pull ahead", how: "the tub again, reversed; 0: cannot be reversed",
		prior: prior{median: always(0.7), spread: spread{0.2, true}, source: practice}, tol: percent(10)},
}

var hullKeys = []key{
	{path: "hull.displaced_kg", kind: numberKind, unit: "kg", low: 0.1, high: 1000,
		is: "water that the vehicle displaces when it hovers", how: "its weight in air, with its ballast, on a bathroom scale",
		prior: prior{median: always(8), spread: factor(1.8), source: practice}, tol: percent(8)},
	{path: "hull.drag_area_m2", kind: numberKind, unit: "m²", low: 0.0005, high: 10,
		is: "drag coefficient times frontal area, ahead", how: "frontal area, 0.8 to 1.2 times; the log finds it better",
		prior: prior{dragArea, factor(1.7), []string{"hull.displaced_kg"}, "", "1.4·volume^(2/3): an open frame's frontal area at a coefficient of about 1; " + practice}, tol: percent(30)},
	{path: "hull.climb_drag_area_m2", kind: numberKind, unit: "m²", low: 0.0005, high: 10,
		is: "the same up and down", how: "the area seen from above, 0.8 to 1.2 times; the log finds it better",
		prior: prior{climbDragArea, factor(1.7), []string{"hull.drag_area_m2"}, "", "1.5 times drag_area_m2; " + practice}, tol: percent(30)},
	{path: "hull.wake", kind: numberKind, low: 0, high: 0.6,
		is: "how much slower the water meets the propellers, as a share of the speed", how: "leave it out",
		prior: prior{median: always(0.1), spread: plus(0.08), source: practice}, tol: plus(0.05)},
	{path: "hull.trim_g", kind: numberKind, unit: "g", low: -50000, high: 50000,
		is: "weight that makes it hover in fresh water, + floats", how: "hang kitchen weights on it until it hovers",
		prior: prior{median: always(60), spread: plus(150), source: practice}, tol: plus(40)},
	{path: "hull.foam_loss_g_m", kind: numberKind, unit: "g/m", low: 0, high: 500,
		is: "buoyancy that foam loses with each metre of depth", how: "leave it out; 0 for rigid tubes and housings",
		prior: prior{median: always(1), spread: plus(1), source: practice}, tol: plus(0.5)},
	{path: "hull.ballast_density_kg_m3", kind: numberKind, unit: "kg/m³", low: 1050, high: 20000,
		is: "what ballast_g in dives.csv is made of", how: "lead 11340, steel 7850, concrete 2400",
		prior: prior{median: always(7850), spread: factor(2.5), source: "steel, most often; also lead, stone and concrete; " + practice}, tol: percent(2)},
}

var extraKeys = []key{
	{path: "lights.current_a", kind: numberKind, unit: "A", low: 0, high: 50,
		is: "what the lights draw", how: "a clamp meter, lights on less lights off", prior: prior{source: "no lights, if resistor_ohm is left out too; of lines that have them on the dives tell it, from 1 A on"}, tol: percent(5)},
	{path: "lights.led_v", kind: numberKind, unit: "V", low: 0.5, high: 60, none: true,
		is: "forward voltage of the LEDs behind a resistor", how: "a voltmeter across them", prior: prior{source: "current_a counts"}, tol: percent(3)},
	{path: "lights.resistor_ohm", kind: listKind, unit: "Ω", low: 0.1, high: 1e5,
		is: "their resistors, each with its own LEDs, side by side", how: "read their rings", prior: prior{source: "current_a counts"}},
	{path: "lights.supply", kind: wordKind, words: []string{"power", "signal"},
		is: "the conductors that feed them", how: "follow the wires", prior: prior{word: "power", source: "the power pair"}},
	{path: "camera.current_a", kind: numberKind, unit: "A", low: 0, high: 20,
		is: "what the camera draws", how: "a clamp meter, or its label", prior: prior{source: "none"}, tol: percent(10)},
	{path: "camera.minimum_v", kind: settingKind, unit: "V", low: 1, high: 60, none: true,
		is: "the voltage below which the picture goes", how: "its label or data sheet", prior: prior{source: "not judged"}},
	{path: "camera.supply", kind: wordKind, words: []string{"own", "shared"},
		is: "shared: fed by the vehicle's power pair", how: "follow the wires", prior: prior{word: "own", source: "its own"}},
	{path: "relay.coil_ohm", kind: numberKind, unit: "Ω", low: 3, high: 20000, none: true,
		is: "resistance of a relay's coil", how: "an ohmmeter across the coil", prior: prior{source: "relays are not judged"}, tol: percent(10)},
	{path: "relay.coil_v", kind: settingKind, unit: "V", low: 1.5, high: 60, none: true,
		is: "the voltage on its label", how: "read it", prior: prior{source: "relays are not judged"}},
	{path: "relay.pull_in_v", kind: numberKind, unit: "V", low: 0.5, high: 60, none: true,
		is: "the coil's voltage that pulls it in when cold", how: "raise the voltage from fresh cells until it clicks",
		prior: prior{pullIn, percent(3), nil, "", "0.75 coil_v (70 to 80 % by maker), from memory"}, tol: percent(3)},
	{path: "tube.*.name", kind: textKind, is: "what it is called", how: "any name", prior: prior{source: "its number"}},
	{path: "tube.*.outer_mm", kind: settingKind, unit: "mm", low: 3, high: 1000, none: true,
		is: "outer diameter of a tube or housing full of air", how: "a string around it, by 3.14", prior: prior{source: "not judged"}},
	{path: "tube.*.wall_mm", kind: settingKind, unit: "mm", low: 0.2, high: 100, none: true,
		is: "its wall", how: "a calliper, or the pipe's label", prior: prior{source: "not judged"}},
	{path: "tube.*.length_mm", kind: settingKind, unit: "mm", low: 5, high: 5000, none: true,
		is: "its length inside", how: "a ruler", prior: prior{source: "not judged"}},
	{path: "tube.*.material", kind: wordKind, words: []string{"pvc", "abs", "acrylic", "aluminium"},
		is: "what it is made of", how: "read the pipe", prior: prior{source: "not judged"}},
	{path: "tube.*.sealed", kind: flagKind, is: "whether it is closed at both ends", how: "look at it", prior: prior{word: "true", source: "it is"}},
}

const learntFromLog = "typical; the log shows it; " + practice

var readingKeys = []key{
	{path: "instruments.battery_v", kind: numberKind, unit: "V", low: 0.001, high: 3, is: "one standard deviation of battery_v",
		how: "leave it out, or a third of how far repeated readings lie apart", prior: prior{median: always(0.02), spread: factor(1.7), source: learntFromLog}, tol: percent(20)},
	{path: "instruments.current_a", kind: numberKind, unit: "A", low: 0.005, high: 20, is: "one standard deviation of current_a",
		how: "as above", prior: prior{median: always(0.15), spread: factor(1.7), source: learntFromLog}, tol: percent(20)},
	{path: "instruments.vehicle_v", kind: numberKind, unit: "V", low: 0.001, high: 3, is: "one standard deviation of vehicle_v",
		how: "as above", prior: prior{median: always(0.03), spread: factor(1.7), source: learntFromLog}, tol: percent(20)},
	{path: "instruments.speed_percent", kind: numberKind, unit: "%", low: 0.2, high: 50, is: "one standard deviation of a speed",
		how: "as above", prior: prior{median: always(4), spread: factor(1.7), source: learntFromLog}, tol: percent(20)},
	{path: "instruments.climb_percent", kind: numberKind, unit: "%", low: 0.2, high: 50, is: "one standard deviation of a climb",
		how: "as above", prior: prior{median: always(6), spread: factor(1.7), source: learntFromLog}, tol: percent(20)},
	{path: "instruments.trim_g", kind: numberKind, unit: "g", low: 0.2, high: 2000, is: "one standard deviation of trim_g",
		how: "as above", prior: prior{median: always(8), spread: factor(1.7), source: learntFromLog}, tol: percent(20)},
	{path: "instruments.pull_n", kind: numberKind, unit: "N", low: 0.005, high: 50, is: "one standard deviation of pull_n",
		how: "as above", prior: prior{median: always(0.25), spread: factor(1.7), source: learntFromLog}, tol: percent(20)},
	{path: "instruments.loop_ohm", kind: numberKind, unit: "Ω", low: 0.0005, high: 2, is: "one standard deviation of loop_ohm",
		how: "as above", prior: prior{median: always(0.02), spread: factor(1.7), source: learntFromLog}, tol: percent(20)},

	{path: "limits.excess_resistance_ohm", kind: settingKind, unit: "Ω", low: 0.005, high: 20, is: "excess resistance of the power loop at which you would act",
		how: "what loss of speed you can bear", prior: prior{median: always(0.3), source: practice}},
	{path: "limits.thrust_factor", kind: settingKind, low: 0.1, high: 0.99, is: "share of the thrust at which you would act",
		how: "as above", prior: prior{median: always(0.8), source: practice}},
	{path: "limits.friction_a", kind: settingKind, unit: "A", low: 0.01, high: 50, is: "friction, a thruster's added no-load current, at which you would act",
		how: "as above", prior: prior{median: always(0.3), source: practice}},
	{path: "limits.ingress_g", kind: settingKind, unit: "g", low: 1, high: 50000, is: "water taken in at which you would act",
		how: "what your vertical thruster can still lift", prior: prior{median: always(60), source: practice}},
	{path: "limits.battery_resistance_ohm", kind: settingKind, unit: "Ω", low: 0.001, high: 5, is: "the battery's resistance at which you would replace it",
		how: "the voltage that is left under your load", prior: prior{median: func(v *Vehicle, _ int) float64 { return 2 * v.Battery.ResistanceOhm },
			source: "twice resistance_ohm; " + practice}},
	{path: "limits.branch_excess_ohm", kind: settingKind, unit: "Ω", low: 0.005, high: 20, is: "excess resistance of one thruster's branch at which you would act",
		how: "what loss of pull you can bear", prior: prior{median: always(0.3), source: practice}},
	{path: "limits.drag_factor", kind: settingKind, low: 1.01, high: 10, is: "drag as a multiple of the clean hull's at which you would act",
		how: "what loss of speed you can bear: 1.3 costs an eighth", prior: prior{median: always(1.3), source: practice}},
	{path: "limits.insulation_megohm", kind: settingKind, unit: "MΩ", low: 0.01, high: 10000, is: "resistance from the power pair to water at which you would act",
		how: "leave it out", prior: prior{median: always(1), source: "IEC 60364-6 asks 0.5 MΩ of extra-low-voltage circuits, 1 MΩ of others up to 500 V"}},

	{path: "baseline.dives", kind: countKind, low: 2, high: 50, is: "how many of the first dives count as sound",
		how: "leave it out", prior: prior{median: always(5), source: practice}},
}

// A Joint is a place of the power pair that can be found and measured: a
// splice, a plug, a slip ring, or the box at the vehicle's end.
type Joint struct {
	Name       string  `toml:"name"`
	AtM        float64 `toml:"at_m"`       // from the battery's end
	Accessible *bool   `toml:"accessible"` // a meter's tips reach its conductors
}

// Reached says whether a meter's tips reach the joint's conductors.
func (j *Joint) Reached() bool { return j.Accessible == nil || *j.Accessible }

// An Interval is how often a part is to be worked on; 0 for no limit of that
// kind.
type Interval struct {
	Part  string `toml:"part"` // as dives.csv has it under serviced
	Dives int    `toml:"dives"`
	Days  int    `toml:"days"`
}

var jointKeys = []key{
	{path: "joint.*.name", kind: textKind, need: true, is: "what the joint is called; plug and box rename the tether's two ends", how: "any name of its own"},
	{path: "joint.*.at_m", kind: settingKind, unit: "m", low: 0, high: 1000, need: true,
		is: "how far it is from the battery's end of the tether", how: "a tape along the tether"},
	{path: "joint.*.accessible", kind: flagKind, is: "whether a meter's tips reach its conductors",
		how: "false for one in wax or under a sealed sleeve", prior: prior{word: "true", source: "they do"}},
}

var intervalKeys = []key{
	{path: "maintenance.*.part", kind: wordKind, need: true, is: "the part, as dives.csv has it under serviced", how: "one of the words",
		words: session.Serviceable},
	{path: "maintenance.*.dives", kind: countKind, low: 1, high: 10000, none: true,
		is: "after how many dives it is due again", how: "what its maker or your own log says", prior: prior{source: "no limit in dives"}},
	{path: "maintenance.*.days", kind: countKind, low: 1, high: 10000, none: true,
		is: "after how many days it is due again", how: "as above", prior: prior{source: "no limit in days"}},
}

// upkeep remarks on joints beyond the tether and on parts that are never due.
func (r *remarker) upkeep() {
	for i := range r.v.Joints {
		if j := &r.v.Joints[i]; j.AtM > r.v.Tether.LengthM {
			r.add(join("joint", i, "at_m"), "%g m is beyond the tether's %g m: counted as at its end", j.AtM, r.v.Tether.LengthM)
		}
	}
	for i := range r.v.Maintenance {
		if m := &r.v.Maintenance[i]; m.Dives == 0 && m.Days == 0 {
			r.add(join("maintenance", i, "part"), "neither dives nor days say when %s is due", m.Part)
		}
	}
}
