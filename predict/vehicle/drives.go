package vehicle

import "strings"

// ThrusterNames are the names that a log may use; none of a vehicle that could not
// be read.
func (v *Vehicle) ThrusterNames() (names []string) {
	if v == nil {
		return nil
	}
	for i := range v.Thrusters {
		names = append(names, v.Thrusters[i].Name)
	}
	return names
}

// Reversed is what a thruster that runs the other way is called.
func (t *Thruster) Reversed() string {
	if t.Surge() {
		return t.Name + " astern"
	}
	return t.Name + " down"
}

// DrivesName words which thrusters run, as a log does: one sign a thruster,
// 0 off, 1 ahead or up, −1 astern or down.
func (v *Vehicle) DrivesName(signs []int8) string {
	var out []string
	for i, s := range signs {
		switch {
		case s > 0:
			out = append(out, v.Thrusters[i].Name)
		case s < 0:
			out = append(out, v.Thrusters[i].Reversed())
		}
	}
	if len(out) == 0 {
		return "off"
	}
	return strings.Join(out, " + ")
}
