package prompt

import (
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"sagline/predict/vehicle"
	"sagline/session/units"
)

// A Vehicle interview asks what a vehicle is made of. Enter alone is always an
// answer: not known, and then left out of vehicle.toml.
type Vehicle struct {
	Prompter
	Name  string // offered
	Width int    // of the terminal, columns

	draft   *vehicle.Vehicle    // that single values are tried on
	answers map[string][]string // assignments as Set takes them, by step
	names   map[string][]string // of thrusters, by axis
	meters  []string
}

// step is one question. Its answer becomes assignments; skip leaves it out.
type step struct {
	id, text, help, preset string
	words                  []string
	need                   string // what to say when it is not known; "": that is an answer
	skip                   func() bool
	take                   func(answer string) ([]string, error)
}

// meters are what an owner may have at hand, and the columns that each fills.
var meters = []struct {
	name    string
	columns []string
}{
	{"voltmeter", []string{"battery_v"}}, {"second voltmeter on board", []string{"vehicle_v"}}, {"clamp meter", []string{"current_a"}},
	{"stopwatch", []string{"run_m", "run_s", "run_back_s"}}, {"depth marks", []string{"depth_m", "tether_out_m"}},
	{"kitchen scale", []string{"pull_n", "trim_g"}}, {"thermometer", []string{"water_c"}},
}

// Run asks, and returns the vehicle and the columns of its log.
func (v *Vehicle) Run() (*vehicle.Vehicle, []string, error) {
	v.draft, v.answers, v.names = vehicle.Example(), map[string][]string{}, map[string][]string{}
	v.Say("%s", Wrap("  ", "Enter alone: not known, and left out; ? how to find out; back: the question before. "+
		"A range is an answer too, as 4 to 6. All of it can be changed in "+vehicle.FileName+" later.", v.Width))
	steps := v.steps()
	for i := 0; i < len(steps); {
		if s := &steps[i]; s.skip != nil && s.skip() {
			i++
			continue
		}
		switch err := v.ask(&steps[i]); {
		case errors.Is(err, errBack):
			for i = max(i-1, 0); i > 0 && steps[i].skip != nil && steps[i].skip(); i-- {
			}
		case err != nil:
			return nil, nil, err
		default:
			i++
		}
	}
	return v.build(steps)
}

// ask asks until an answer passes.
func (v *Vehicle) ask(s *step) error {
	for {
		answer, err := v.Ask(s.text, s.preset, s.words)
		switch {
		case errors.Is(err, io.EOF):
			return errors.New("input has ended before the last question, nothing is written")
		case err != nil:
			return err
		case answer == helpWord:
			v.Say("%s", Wrap("  ", s.help, v.Width))
			continue
		case answer == backWord:
			return errBack
		case answer == "" && s.need != "":
			v.Say("  %s\n", s.need)
			continue
		}
		set, err := []string(nil), error(nil)
		if answer != "" {
			set, err = s.take(answer)
		}
		if err != nil {
			v.Say("  %v\n", err)
			continue
		}
		v.answers[s.id] = set
		return nil
	}
}

// key is a step that asks for one key of the table.
func (v *Vehicle) key(path string) step {
	r := v.draft.Describe(path)
	s := step{id: path, text: r.Is, help: r.FindOut, words: r.Words}
	if r.Unit != "" {
		s.text += ", " + r.Unit
	}
	switch {
	case r.Required:
		s.need = "that has to be known: " + r.FindOut
	case r.Typical != nil && *r.Low < *r.High:
		s.help += fmt.Sprintf("; left out it is taken as about %s %s, 19 in 20 from %s to %s", vehicle.Short(*r.Typical), r.Unit, vehicle.Short(*r.Low), vehicle.Short(*r.High))
	case r.Typical == nil:
		s.help += "; left out: " + r.Source
	}
	s.take = func(answer string) ([]string, error) {
		set := path + "=" + numberOrRange(meant(answer, s.words), r.Unit)
		return []string{set}, v.try(set)
	}
	return s
}

// meant is the only one of the words that begins with an answer, else the only
// one that has it in it, else the answer.
func meant(answer string, words []string) string {
	for _, fits := range []func(string, string) bool{strings.HasPrefix, strings.Contains} {
		var found []string
		for _, w := range words {
			if fits(w, strings.ToLower(answer)) {
				found = append(found, w)
			}
		}
		if len(found) == 1 {
			return found[0]
		}
	}
	return answer
}

// try says what is wrong with a value for its key.
func (v *Vehicle) try(set string) error {
	if err := v.draft.Clone().Set(set); err != nil {
		_, what, _ := strings.Cut(err.Error(), ": ")
		return errors.New(what)
	}
	return nil
}

// rangeWords find two numbers with to, - or … between them.
var rangeWords = regexp.MustCompile(`^(-?[\d.]+) *(?:to|-|–|…|\.\.+) *(-?[\d.]+)$`)

// numberOrRange is an answer as Set takes it: a decimal comma as a point, a
// unit that people use turned into the key's, two numbers as a range.
func numberOrRange(answer, unit string) string {
	s := regexp.MustCompile(`(\d),(\d)`).ReplaceAllString(answer, "$1.$2")
	names := []string{unit, units.Imperial.In(unit).Name}
	if unit == "N" {
		names = append(names, "kgf")
	}
	slices.SortFunc(names, func(a, b string) int { return len(b) - len(a) }) // kg before g
	in := units.Find(unit)
	for _, name := range names {
		if rest, ok := strings.CutSuffix(s, name); ok && name != "" && strings.ContainsAny(rest, "0123456789") {
			s, in = strings.TrimSpace(rest), units.Find(name)
			break
		}
	}
	convert := func(x string) string {
		if y, err := strconv.ParseFloat(x, 64); err == nil && in.Name != unit {
			return strconv.FormatFloat(in.ToBase(y), 'g', 4, 64)
		}
		return x
	}
	if m := rangeWords.FindStringSubmatch(s); m != nil {
		return "[" + convert(m[1]) + ", " + convert(m[2]) + "]"
	}
	return convert(s)
}

func (v *Vehicle) steps() []step {
	thruster := func(name string) step { return v.key("thruster.port." + name) }
	name := v.key("name")
	name.text, name.preset = "what is the vehicle called", v.Name
	out := []step{name, v.key("battery.nominal_v")}
	chemistry := v.key("battery.chemistry")
	chemistry.text += ": " + strings.Join(chemistry.words, ", ")
	out = append(out, chemistry, v.key("battery.capacity_ah"), v.key("battery.fuse_a"),
		v.key("tether.length_m"), v.sizeStep(), v.key("tether.diameter_mm"),
		v.namesStep("surge", "thrusters that push ahead, joined by +", "port + starboard"),
		v.namesStep("heave", "thrusters that push up and down, joined by +; - for none", "vertical"), v.apartStep())
	out[slices.IndexFunc(out, func(s step) bool { return s.id == "surge" })].need = "want at least one"
	first := thruster("test_a")
	first.text = "one thruster, all being alike; " + first.text
	out = append(out, first, thruster("test_v"), thruster("test_n"), thruster("prop_diameter_mm"),
		v.key("hull.displaced_kg"), v.key("hull.trim_g"))
	untested := func() bool {
		return v.answers["thruster.port.test_a"] == nil && v.answers["thruster.port.test_n"] == nil
	}
	out[slices.IndexFunc(out, func(s step) bool { return s.id == "thruster.port.test_v" })].skip = untested
	return append(out, v.metersStep())
}

// sizeStep asks for the conductor's size in the way that its jacket says it.
func (v *Vehicle) sizeStep() step {
	sizes := []struct{ shape, key string }{
		{`(?i)^(?:awg *(-?\d+)|(-?\d+) *awg)$`, "awg"}, {`(?i)^([\d.]+)() *(?:mm2|mm²|mm\^2)?$`, "area_mm2"}, {`(?i)^([\d.]+)() *(?:ohm|Ω) */ *km$`, "ohm_km"},
	}
	const want = "want a size as 2.5 mm2, 14 AWG or 8 ohm/km"
	return step{id: "size", text: "one power conductor: as 2.5 mm2, 14 AWG or 8 ohm/km", need: "that has to be known: read the jacket",
		help: "read the jacket; or, battery unplugged first, short the far end and read both conductors in series: ohms times 500 by the length is ohm/km; then take the short off",
		take: func(answer string) ([]string, error) {
			for _, s := range sizes {
				if m := regexp.MustCompile(s.shape).FindStringSubmatch(strings.Replace(answer, ",", ".", 1)); m != nil {
					set := "tether.power." + s.key + "=" + m[1] + m[2]
					return []string{set}, v.try(set)
				}
			}
			return nil, fmt.Errorf("found %q, %s", answer, want)
		}}
}

// namesStep asks for the thrusters of one axis.
func (v *Vehicle) namesStep(axis, text, preset string) step {
	return step{id: axis, text: text, preset: preset, help: "the names that dives.csv will use, any without + or comma",
		take: func(answer string) ([]string, error) {
			var names []string
			for n := range strings.SplitSeq(answer, "+") {
				n = strings.TrimSpace(n)
				if !vehicle.ThrusterName(n) || slices.Contains(names, n) || axis == "heave" && slices.Contains(v.names["surge"], n) {
					return nil, fmt.Errorf("found %q, want names, each once, without comma, not off", n)
				}
				names = append(names, n)
			}
			v.names[axis] = names
			return nil, nil
		}}
}

// apartStep asks where two surge thrusters sit; without an answer, and for any
// other number of them, they are taken as mounted alike on both sides.
func (v *Vehicle) apartStep() step {
	return step{id: "apart", text: "how far apart the two that push ahead are, mm", help: "a ruler, from shaft to shaft; left out: the same either side of the middle",
		skip: func() bool { return len(v.names["surge"]) != 2 },
		take: func(answer string) ([]string, error) {
			x, err := strconv.ParseFloat(numberOrRange(answer, "mm"), 64)
			if err != nil {
				return nil, fmt.Errorf("found %q, want a number in mm", answer)
			}
			set := []string{fmt.Sprintf("thruster.%s.arm_mm=%g", v.names["surge"][0], -x/2), fmt.Sprintf("thruster.%s.arm_mm=%g", v.names["surge"][1], x/2)}
			return set, v.try(fmt.Sprintf("thruster.port.arm_mm=%g", x/2))
		}}
}

// metersStep asks what readings the log will have.
func (v *Vehicle) metersStep() step {
	var names []string
	for _, m := range meters {
		names = append(names, m.name)
	}
	return step{id: "meters", text: "instruments at hand, joined by +", words: names, preset: "voltmeter + clamp meter + stopwatch",
		help: "of " + strings.Join(names, ", ") + ": the log gets columns for what they read; how far each scatters is learnt from the log",
		take: func(answer string) ([]string, error) {
			v.meters = nil
			for n := range strings.SplitSeq(answer, "+") {
				if n = meant(strings.TrimSpace(n), names); !slices.Contains(names, n) {
					return nil, fmt.Errorf("found %q, want of %s", n, strings.Join(names, ", "))
				}
				v.meters = append(v.meters, n)
			}
			return nil, nil
		}}
}

// build makes the vehicle that the answers describe: what was said of one
// thruster goes for all.
func (v *Vehicle) build(steps []step) (*vehicle.Vehicle, []string, error) {
	var thrusters []vehicle.Thruster
	for _, axis := range []string{"surge", "heave"} {
		for _, n := range v.names[axis] {
			thrusters = append(thrusters, vehicle.Thruster{Name: n, Axis: axis})
		}
	}
	name := v.Name
	for _, set := range v.answers["name"] {
		name = strings.TrimPrefix(set, "name=")
	}
	w := vehicle.Begin(name, thrusters)
	for i := range steps {
		for _, set := range v.answers[steps[i].id] {
			key, ofOne := strings.CutPrefix(set, "thruster.port.")
			for j := range thrusters {
				if ofOne && steps[i].id != "apart" {
					set = "thruster." + thrusters[j].Name + "." + key
				} else if j > 0 {
					break
				}
				if err := w.Set(set); err != nil {
					return nil, nil, err
				}
			}
		}
	}
	whole, err := vehicle.Read(strings.NewReader(string(w.Text())), vehicle.FileName)
	return whole, v.columns(), err
}

// columns are those of the log, in the order of the table of columns.
func (v *Vehicle) columns() []string {
	out := []string{"dive", "date", "minute", "thrusters", "held"}
	for _, m := range meters {
		if slices.Contains(v.meters, m.name) {
			out = append(out, m.columns...)
		}
	}
	return append(out, "serviced", "note")
}
