package newvehicle

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"

	"sagline/predict/vehicle"
)

// parts returns the parts that can be rebuilt, as words and as the beginnings of their keys: tables
// of the file, and each thruster and tube.
func parts(v *vehicle.Vehicle) (words, paths []string) {
	for _, k := range v.Keys() {
		table, rest, _ := strings.Cut(k.Name, ".")
		word, path := table, table+"."
		switch table {
		case "battery", "tether", "hull", "lights", "camera", "relay":
		case "thruster", "tube":
			name := rest[:strings.LastIndexByte(rest, '.')]
			word, path = table+" "+name, table+"."+name+"."
		default:
			continue
		}
		if !slices.Contains(paths, path) {
			words, paths = append(words, word), append(paths, path)
		}
	}
	return words, paths
}

// Rebuilt returns the draft of what was rebuilt on a vehicle. labels are its log's dives in order,
// next is the label of the dive to come.
func Rebuilt(v *vehicle.Vehicle, labels []string, next string) *Draft {
	d := &Draft{Ends: true, trial: v.At(next, labels), answers: map[string][]string{}, From: next}
	words, paths := parts(d.trial)
	d.Steps = []Step{
		{ID: "from", Text: "from which dive on", Words: append(slices.Clone(labels), next), Preset: next,
			Help: "the label in dives.csv of the first dive with the new parts; Enter: the next dive",
			take: func(answer string) ([]string, error) {
				if !slices.Contains(labels, answer) {
					answer = strings.TrimPrefix(answer, "dive ")
				}
				if err := vehicle.MayBeDive(answer, labels); err != nil {
					return nil, err
				}
				d.From, d.trial = answer, v.At(answer, labels)
				return nil, nil
			}},
		{ID: "parts", Text: "what was rebuilt, joined by +: " + strings.Join(words, ", "), Words: words, Several: true, Need: "want at least one",
			Help: "the parts that are others than before; one that was replaced by its like is written under serviced in dives.csv instead",
			take: func(answer string) ([]string, error) {
				parts, err := chosen(everyOne(answer, words), words)
				if err != nil {
					return nil, err
				}
				for i, part := range parts {
					parts[i] = paths[slices.Index(words, part)]
				}
				d.Steps = append(d.Steps[:2], d.ofParts(parts)...)
				return nil, nil
			}},
	}
	return d
}

// everyOne replaces a plural in an answer by each part of that kind, so that "thrusters" is not
// taken for the thruster S.
func everyOne(answer string, words []string) string {
	var parts []string
	for part := range strings.SplitSeq(answer, "+") {
		part = strings.TrimSpace(part)
		of := slices.DeleteFunc(slices.Clone(words), func(w string) bool {
			kind, _, several := strings.Cut(w, " ")
			return !several || normalised(part) != kind+"s"
		})
		if len(of) == 0 || slices.Contains(words, part) {
			of = []string{part}
		}
		parts = append(parts, of...)
	}
	return strings.Join(parts, "+")
}

// ofParts returns the questions about the parts of the paths; those about several thrusters are
// asked once.
func (d *Draft) ofParts(paths []string) (out []Step) {
	thrusters := slices.DeleteFunc(slices.Clone(paths), func(p string) bool { return !strings.HasPrefix(p, "thruster.") })
	for _, p := range paths {
		also := thrusters
		switch {
		case !strings.HasPrefix(p, "thruster."):
			also = []string{p}
		case p != thrusters[0]:
			continue
		}
		for _, k := range d.trial.Keys() {
			key, ok := strings.CutPrefix(k.Name, p)
			if !ok || key == "name" || key == "axis" || key == "arm_mm" && len(also) > 1 || strings.HasSuffix(key, ".area_mm2") || strings.HasSuffix(key, ".ohm_km") {
				continue
			}
			if of, ok := strings.CutSuffix(k.Name, ".awg"); ok {
				out = append(out, d.changed(d.sizeStep(of), []string{""}, d.sizeNow(of)))
				continue
			}
			now := k.Value
			if d.trial.Belief(k.Name).Origin == vehicle.Prior && d.trial.Value(k.Name) == "" {
				now = "" // assumed, not stated
			}
			s := d.changed(d.key(k.Name), also, now)
			name, ofThruster := strings.CutPrefix(p, "thruster.")
			switch {
			case len(also) > 1:
				s.Text = fmt.Sprintf("each of %d thrusters: %s", len(also), s.Text)
			case ofThruster && len(d.trial.Thrusters) > 1:
				s.Text = strings.TrimSuffix(name, ".") + ": " + s.Text
			}
			out = append(out, s)
		}
	}
	return out
}

// sizeNow returns a conductor's size as it is stated, "" if it is not.
func (d *Draft) sizeNow(of string) string {
	for _, k := range d.trial.Keys() {
		if size, ok := strings.CutPrefix(k.Name, of+"."); ok && k.Value != "" && slices.Contains([]string{"awg", "area_mm2", "ohm_km"}, size) {
			return k.Value + " " + d.trial.Describe(k.Name).Unit
		}
	}
	return ""
}

// changed turns a step into one for the rebuilt vehicle: without an answer the key stays as it was,
// and an answer holds for each of the parts.
func (d *Draft) changed(s Step, parts []string, now string) Step {
	path, take, help := s.ID, s.take, s.Help
	s.Need, s.Preset, s.Text = "", "", s.Text+" (now "+cmp.Or(now, "not stated")+")"
	s.Help += "; Enter: as it was; " + vehicle.Unknown + ": the new one is not known"
	s.Words = append(slices.Clone(s.Words), vehicle.Unknown)
	s.take = func(answer string) ([]string, error) {
		sets := []string{path + "=" + vehicle.Unknown}
		if !strings.EqualFold(answer, vehicle.Unknown) && !strings.EqualFold(answer, "don't know") {
			var err error
			if sets, err = take(answer); err != nil {
				return nil, err
			}
		} else if _, err := d.trial.Assumed(path); err != nil {
			return nil, errors.New("that has to be known: " + help)
		}
		var out []string
		for _, p := range parts {
			for _, set := range sets {
				if _, key, _ := strings.Cut(set, parts[0]); p != "" {
					set = p + key
				}
				out = append(out, set)
			}
		}
		return out, nil
	}
	return s
}

// Sets returns the assignments answered so far, in the order of the questions.
func (d *Draft) Sets() (out []string) {
	for i := range d.Steps {
		out = append(out, d.answers[d.Steps[i].ID]...)
	}
	return out
}
