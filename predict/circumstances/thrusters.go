package circumstances

import (
	"slices"

	"sagline/predict"
	"sagline/session"
	"sagline/session/problem"
)

// Signs fills in which thrusters ran on a line, and reports names that the vehicle does not have.
func Signs(m *predict.Model, l *session.Line, sign []int8, file string, problems *problem.List) {
	names := m.Vehicle.ThrusterNames()
	for _, drive := range l.Drives {
		at := slices.Index(names, drive.Name)
		if at < 0 {
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

// OneWay reports whether a line's speed was timed over ground in one direction only.
func OneWay(l *session.Line) bool {
	out, back := l.Runs()
	return out.Measured() && !back.Measured()
}
