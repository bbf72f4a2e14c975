package calls

import (
	"fmt"
	"strings"

	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/problem"
)

// merge merges dives.csv with a copy. Its files are the log as it was last taken in, the log here,
// the copy and, optionally, the copy's vehicle.toml, which must be of this vehicle.
func (b *Logbook) merge(a *Arguments) (Answer, error) {
	if len(a.Files) > 3 {
		v, err := vehicle.Read(strings.NewReader(a.Files[3]), vehicle.FileName)
		if err != nil {
			return Answer{}, err
		}
		if b.vehicle != nil && v.Name != b.vehicle.Name {
			return Answer{}, fmt.Errorf("vehicle.toml is of %s, this logbook of %s", problem.Quote(v.Name), problem.Quote(b.vehicle.Name))
		}
	}
	m, err := session.MergeTexts(session.FileName, a.Files[0], a.Files[1], a.Files[2])
	if err != nil {
		return Answer{}, err
	}
	if m.Added, m.Conflicts = clean(m.Added), clean(m.Conflicts); len(m.Conflicts) > 0 {
		return Answer{Value: m}, nil
	}
	return Answer{Value: m, Files: []string{m.Text}}, nil
}

func clean(list []string) []string {
	out := []string{}
	for _, s := range list {
		out = append(out, problem.Visible(s))
	}
	return out
}
