package vehicle

import "sagline/session/units"

// What a key is worth where vehicle.toml leaves it out.
const (
	defaultAstern        = 0.7  // thruster.astern
	defaultSealed        = true // tube.sealed
	pullInShareOfCoilV   = 0.75 // relay.pull_in_v, of relay.coil_v
	limitShareOfBattery  = 2    // limits.battery_resistance_ohm, of battery.resistance_ohm
	defaultParallelWires = 1    // tether.power.parallel, tether.signal.parallel
)

// defaults is a vehicle with every default that stands by itself; what is not
// named here is 0 or empty: unknown or absent.
func defaults() *Vehicle {
	return &Vehicle{
		Units: units.Metric,
		Battery: Battery{
			ResistanceOhm: 0.04,
		},
		Tether: Tether{
			NormalDrag: 1.2,
			SkinDrag:   0.012,
			Power:      Conductor{Parallel: defaultParallelWires},
			Signal:     Conductor{Parallel: defaultParallelWires},
		},
		Lights: Lights{Supply: "power"},
		Camera: Camera{Supply: "own"},
		Hull: Hull{
			Wake:               0.1,
			BallastDensityKGM3: 7850,
		},
		Instruments: Instruments{
			BatteryV:     0.02,
			CurrentA:     0.15,
			VehicleV:     0.03,
			SpeedPercent: 4,
			ClimbPercent: 6,
			TrimG:        8,
			PullN:        0.25,
			LoopOhm:      0.02,
		},
		Limits: Limits{
			ExcessResistanceOhm: 0.3,
			ThrustFactor:        0.8,
			FrictionA:           0.3,
			IngressG:            60,
			BranchExcessOhm:     0.3,
		},
		Baseline: Baseline{Dives: 5},
	}
}

// fill sets the defaults that stand in lists or depend on other keys, where
// the file has no such key: a written 0 stays 0.
func (v *Vehicle) fill(in *keys) {
	for i := range v.Thrusters {
		if !in.has(join("thruster", i, "astern")) {
			v.Thrusters[i].Astern = defaultAstern
		}
	}
	for i := range v.Tubes {
		if v.Tubes[i].Sealed == nil {
			sealed := defaultSealed
			v.Tubes[i].Sealed = &sealed
		}
	}
	if !in.has("relay.pull_in_v") {
		v.Relay.PullInV = pullInShareOfCoilV * v.Relay.CoilV
	}
	if !in.has("limits.battery_resistance_ohm") {
		v.Limits.BatteryResistanceOhm = limitShareOfBattery * v.Battery.ResistanceOhm
	}
}
