package drift

import (
	"sagline/predict"
	"sagline/predict/vehicle"
)

// A fault is one way to drift: which parameter, which way is worse, how large
// it typically is as a step, and as a ramp per dive.
type fault struct {
	name, quantity string
	param          int // of predict.Params
	worse          float64
	step, ramp     float64
	cleared        []string // services that end it
	check          string
}

const within = -1 // a fault's param: scatter within dives, not a level

// faults is the table of what can go wrong with a vehicle.
func faults(v *vehicle.Vehicle) []fault {
	out := []fault{
		{"power_loop", "excess_resistance_ohm", predict.LoopOhm, 1, 0.15, 0.02, []string{"tether", "joint"},
			"measure the loop with the vehicle end shorted, flex the joint while reading it, then re-make it"},
		{"intermittent_contact", "excess_resistance_ohm", within, 1, 0, 0, []string{"tether", "joint"},
			"move the tether and connectors by hand while one thruster runs and watch the ammeter"},
		{"thrust", "thrust_factor", predict.LogThrust, -1, 0.15, 0.02, []string{"thruster", "propeller"},
			"look for weed, line or a chipped blade, and a propeller loose on its shaft"},
		{"friction", "friction_a", predict.FrictionA, 1, 0.2, 0.03, []string{"thruster", "propeller"},
			"turn each propeller by hand, then run it in air and compare its no-load current"},
		{"ingress", "ingress_g", predict.TrimG, -1, 40, 5, []string{"seal", "ballast"},
			"weigh the vehicle dry against its first weight and look for water in tubes and foam"},
		{"battery", "battery_resistance_ohm", predict.BatteryOhm, 1, 0.015, 0.002, []string{"battery"},
			"rest and charge the battery, clean its terminals, and compare its sag with another battery"},
	}
	for i, t := range v.Thrusters {
		out = append(out, fault{"branch:" + t.Name, "branch_excess_ohm:" + t.Name, predict.FirstBranch + i, 1, 0.2, 0.03,
			[]string{"tether", "joint", "thruster", "propeller"},
			"measure the voltage across the " + t.Name + " thruster's relay contact and leads under load"})
	}
	return out
}

// A Kind is a fault that grows, for whoever wants to make one: its name, the
// quantity that shows it, the parameter that it changes and which way.
type Kind struct {
	Fault, Quantity string
	Param           int     // of predict.Params
	Worse           float64 // +1 or −1
}

// Kinds lists the faults that a vehicle can have, those that come and go
// within a dive left out.
func Kinds(v *vehicle.Vehicle) []Kind {
	var out []Kind
	for _, f := range faults(v) {
		if f.param != within {
			out = append(out, Kind{f.name, f.quantity, f.param, f.worse})
		}
	}
	return out
}
