package newvehicle

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"sagline/predict/vehicle"
)

// meters are the instruments that an owner may have, and the columns that each fills.
var meters = []struct {
	name    string
	columns []string
}{
	{"voltmeter", []string{"battery_v"}}, {"second voltmeter on board", []string{"vehicle_v"}}, {"clamp meter", []string{"current_a"}},
	{"stopwatch", []string{"run_m", "run_s", "run_back_s"}}, {"depth marks", []string{"depth_m", "tether_out_m"}},
	{"kitchen scale", []string{"pull_n", "trim_g"}}, {"thermometer", []string{"water_c"}},
}

// defaultMeters are the instruments that most owners have: common practice, no source.
const defaultMeters = "voltmeter + clamp meter + stopwatch"

// steps returns the questions in their order.
func (d *Draft) steps() []Step {
	thruster := func(name string) Step { return d.key("thruster.port." + name) }
	name := d.key("name")
	name.Text, name.Preset = "what is the vehicle called", d.name
	power := d.sizeStep("tether.power")
	power.ID, power.Text = "size", "one power conductor: as 2.5 mm2, 14 AWG or 8 ohm/km"
	out := []Step{name, d.key("battery.nominal_v")}
	chemistry := d.key("battery.chemistry")
	chemistry.Text += ": " + strings.Join(chemistry.Words, ", ")
	out = append(out, chemistry, d.key("battery.capacity_ah"), d.key("battery.fuse_a"),
		d.key("tether.length_m"), power, d.key("tether.diameter_mm"),
		d.namesStep("surge", "thrusters that push ahead, joined by +; - for none", "port + starboard"),
		d.namesStep("heave", "thrusters that push up and down, joined by +; - for none", "vertical"), d.apartStep())
	first := thruster("test_a")
	first.Text = "one thruster, all being alike; " + first.Text
	out = append(out, first, thruster("test_v"), thruster("test_n"), thruster("prop_diameter_mm"),
		d.key("hull.displaced_kg"), d.key("hull.trim_g"))
	untested := func() bool {
		return d.answers["thruster.port.test_a"] == nil && d.answers["thruster.port.test_n"] == nil
	}
	out[slices.IndexFunc(out, func(s Step) bool { return s.ID == "thruster.port.test_v" })].skip = untested
	return append(out, d.metersStep())
}

// sizeStep asks for the size of the conductors of tether.power or tether.signal, in
// mm², AWG or Ω/km.
func (d *Draft) sizeStep(of string) Step {
	sizes := []struct{ shape, key string }{
		{`(?i)^(?:awg *(-?\d+)|(-?\d+) *awg)$`, "awg"}, {`(?i)^([\d.]+)() *(?:mm2|mm²|mm\^2)$`, "area_mm2"}, {`(?i)^([\d.]+)() *(?:ohm|Ω) */ *km$`, "ohm_km"},
	}
	const want = "want a size as 2.5 mm2, 14 AWG or 8 ohm/km"
	return Step{ID: of, Text: "one conductor of " + of + ": as 2.5 mm2, 14 AWG or 8 ohm/km", Need: "that has to be known: read the jacket",
		Help: "read the jacket; or, battery unplugged first, short the far end and read both conductors in series: ohms times 500, divided by the length in m, is ohm/km; then take the short off",
		take: func(answer string) ([]string, error) {
			for _, s := range sizes {
				if m := regexp.MustCompile(s.shape).FindStringSubmatch(strings.Replace(answer, ",", ".", 1)); m != nil {
					set := of + "." + s.key + "=" + m[1] + m[2]
					return []string{set}, d.try(set)
				}
			}
			if _, err := strconv.ParseFloat(strings.Replace(answer, ",", ".", 1), 64); err == nil { // ambiguous: 12 AWG are 3.3 mm²
				return nil, fmt.Errorf("found %q, want its unit too: %s mm2, %s AWG or %s ohm/km", answer, answer, answer, answer)
			}
			return nil, fmt.Errorf("found %q, %s", answer, want)
		}}
}

// namesStep asks for the thrusters of one axis.
func (d *Draft) namesStep(axis, text, preset string) Step {
	return Step{ID: axis, axis: true, Text: text, Preset: preset, Help: "the names that dives.csv will use, any without + or comma",
		take: func(answer string) ([]string, error) {
			var names []string
			alike := func(n string, of []string) bool {
				return slices.ContainsFunc(of, func(o string) bool { return strings.EqualFold(n, o) })
			}
			for n := range strings.SplitSeq(answer, "+") {
				n = strings.TrimSpace(n)
				if !vehicle.ThrusterName(n) || alike(n, names) || axis == "heave" && alike(n, d.names["surge"]) {
					return nil, fmt.Errorf("found %q, want names, each once, without comma, not off, nor with astern or down at the end", n)
				}
				names = append(names, n)
			}
			d.names[axis] = names
			return nil, nil
		}}
}

// apartStep asks how far apart two surge thrusters are. Without an answer, or with another number
// of them, they are assumed to be mounted alike on both sides.
func (d *Draft) apartStep() Step {
	return Step{ID: "apart", Text: "how far apart the two that push ahead are, mm", Help: "a ruler, from shaft to shaft; left out: the same either side of the middle",
		skip: func() bool { return len(d.names["surge"]) != 2 },
		take: func(answer string) ([]string, error) {
			inMM, why := vehicle.InUnit(answer, "mm")
			x, err := strconv.ParseFloat(inMM, 64)
			if err != nil {
				return nil, fmt.Errorf("found %q, want a number in mm%s", answer, why)
			}
			set := []string{fmt.Sprintf("thruster.%s.arm_mm=%g", d.names["surge"][0], -x/2), fmt.Sprintf("thruster.%s.arm_mm=%g", d.names["surge"][1], x/2)}
			return set, d.try(fmt.Sprintf("thruster.port.arm_mm=%g", x/2))
		}}
}

// metersStep asks which instruments there are, for the log's columns.
func (d *Draft) metersStep() Step {
	var names []string
	for _, m := range meters {
		names = append(names, m.name)
	}
	return Step{ID: "meters", Text: "instruments at hand, joined by +", Words: names, Several: true, Preset: defaultMeters,
		Help: "of " + strings.Join(names, ", ") + ": the log gets columns for what they read; how far each scatters is learnt from the log",
		take: func(answer string) (_ []string, err error) {
			d.meters, err = chosen(answer, names)
			return nil, err
		}}
}

// key returns a step that asks for one key of the table.
func (d *Draft) key(path string) Step {
	r := d.trial.Describe(path)
	s := Step{ID: path, Text: r.Is, Help: help(r), Words: r.Words, keyHelp: true}
	if r.Unit != "" {
		s.Text += ", " + r.Unit
	}
	if r.Required {
		s.Need = "that has to be known: " + r.FindOut
	}
	s.take = func(answer string) ([]string, error) {
		set := path + "=" + meant(answer, s.Words)
		return []string{set}, d.try(set)
	}
	return s
}

// help says how to find out a key's value, and what is assumed if it is not known.
func help(r vehicle.Row) string {
	switch {
	case r.Required:
		return r.FindOut
	case r.Typical != nil && *r.Low < *r.High:
		return fmt.Sprintf("%s; left out it is taken as about %s %s, 19 in 20 from %s to %s", r.FindOut, vehicle.Short(*r.Typical), r.Unit, vehicle.Short(*r.Low), vehicle.Short(*r.High))
	case r.Typical == nil:
		return r.FindOut + "; left out: " + r.Source
	}
	return r.FindOut
}
