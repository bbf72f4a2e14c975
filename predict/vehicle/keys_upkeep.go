package vehicle

import "sagline/session"

// A Joint is a place of the power pair that can be found and measured: a splice, a plug, a slip
// ring, or the box at the vehicle's end.
type Joint struct {
	Name       string  `toml:"name"`
	AtM        float64 `toml:"at_m"`       // from the battery's end
	Accessible *bool   `toml:"accessible"` // a meter's tips reach its conductors
}

// Reached reports whether a meter's tips reach the joint's conductors.
func (j *Joint) Reached() bool { return j.Accessible == nil || *j.Accessible }

// An Interval says how often a part is due for service; 0 means no limit of that kind.
type Interval struct {
	Part  string `toml:"part"` // as in the column serviced of dives.csv
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

// upkeep remarks on joints beyond the tether's end and on parts that are never due.
func (r *remarker) upkeep() {
	for i := range r.v.Joints {
		if j, most := &r.v.Joints[i], r.v.MostTetherM(); j.AtM > most {
			r.add(join("joint", i, "at_m"), "%g m is beyond the tether's %.5g m: counted as at its end", j.AtM, most)
		}
	}
	for i := range r.v.Maintenance {
		if m := &r.v.Maintenance[i]; m.Dives == 0 && m.Days == 0 {
			r.add(join("maintenance", i, "part"), "neither dives nor days say when %s is due", m.Part)
		}
	}
}
