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

// DrivesName words which thrusters run, as a log does: one sign a thruster,
// 0 off, 1 ahead or up, −1 astern or down.
func (v *Vehicle) DrivesName(signs []int8) string {
	var out []string
	for i, s := range signs {
		name := v.Thrusters[i].Name
		switch {
		case s > 0:
			out = append(out, name)
		case s < 0 && v.Thrusters[i].Surge():
			out = append(out, name+" astern")
		case s < 0:
			out = append(out, name+" down")
		}
	}
	if len(out) == 0 {
		return "off"
	}
	return strings.Join(out, " + ")
}
