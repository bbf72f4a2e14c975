package circumstances

import (
	"slices"

	"sagline/predict"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/problem"
)

// Signs fills in which thrusters ran on a line, and reports those that the
// vehicle does not have.
func Signs(m *predict.Model, l *session.Line, sign []int8, file string, problems *problem.List) {
	for _, drive := range l.Drives {
		at := slices.IndexFunc(m.Vehicle.Thrusters, func(t vehicle.Thruster) bool { return t.Name == drive.Name })
		if at < 0 {
			var names []string
			for i := range m.Vehicle.Thrusters {
				names = append(names, m.Vehicle.Thrusters[i].Name)
			}
			problems.Add(file, l.Number, `column "thrusters"`, "found %s, want a thruster of vehicle.toml%s",
				problem.Quote(drive.Name), problem.OfThese(drive.Name, names))
			continue
		}
		sign[at] = 1
		if drive.Reversed {
			sign[at] = -1
		}
	}
}

// OneWay says whether a line's speed was timed over ground, in one direction
// alone.
func OneWay(l *session.Line) bool {
	out, back := l.Runs()
	return out.Measured() && !back.Measured()
}
