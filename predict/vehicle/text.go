package vehicle

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"sagline/session/units"
)

// Starter is Example with a static test of its thrusters, so that its margins can be judged: the
// vehicle that sagline new writes if nobody answers.
func Starter() *Vehicle {
	v := Example()
	for i := range v.Thrusters {
		v.assign(byPath["thruster.*.test_v"], i, 12.0)
		v.assign(byPath["thruster.*.test_a"], i, 4.0)
	}
	return v
}

// Example returns a vehicle of which only the labels are known, with values for an owner to
// replace.
func Example() *Vehicle {
	v, err := Read(strings.NewReader(example), FileName)
	if err != nil {
		panic(err) // a text of this package
	}
	return v
}

// Begin returns a vehicle of which only its name and the names and axes of its thrusters are known;
// Set adds the rest.
func Begin(name string, thrusters []Thruster) *Vehicle {
	v := &Vehicle{Thrusters: slices.Clone(thrusters), stated: map[keyElement]stated{}}
	v.assign(byPath["name"], 0, name)
	for i := range thrusters {
		v.assign(byPath["thruster.*.name"], i, thrusters[i].Name)
		v.assign(byPath["thruster.*.axis"], i, thrusters[i].Axis)
	}
	return v
}

const example = `name = "my vehicle"
[battery]
nominal_v = 12
chemistry = "lead-acid"
capacity_ah = 18
fuse_a = 10
[tether]
length_m = 20
[tether.power]
area_mm2 = 2.5
[[thruster]]
name = "port"
axis = "surge"
arm_mm = -150
[[thruster]]
name = "starboard"
axis = "surge"
arm_mm = 150
[[thruster]]
name = "vertical"
axis = "heave"
`

// heads tell what a table is for, by its path.
var heads = map[string]string{
	"battery": "at the surface", "tether": "from the battery to the vehicle",
	"tether.power":  "the two legs that feed the vehicle: exactly one of awg, area_mm2 and ohm_km",
	"tether.signal": "conductors that switch relays or feed lights, where there are any",
	"joint":         "a splice, plug or slip ring of the power pair, for sagline locate; one table each",
	"maintenance":   "how often a part is to be worked on; one table each",
	"tether.floats": "a stretch of the tether with floats on it; one table each",
	"thruster":      "one table for each", "hull": "the vehicle in the water",
	"lights": "where there are any", "camera": "where there is one", "relay": "what switches the thrusters",
	"tube": "an air-filled tube or housing; one table for each", "instruments": "how far each meter's readings scatter",
	"limits": "where you would act; trends count the dives left until there", "baseline": "",
}

const opening = `# A vehicle for sagline. Needed are the lines without a # before them. Every other
# key may be left out (it is then about as its comment says, and the log narrows
# it), given, or given as [low, high]: a range that you would bet 19 to 1 on.
# Low voltage only; a fuse at the battery.

`

const changeExample = `# What was rebuilt, from a dive on: keys by their whole path, in quotes; sagline
# change writes it. The log goes on, what was not rebuilt is judged as before.
# [[change]]
# dive = "13"
# "tether.length_m" = 45
`

// Text returns the commented vehicle.toml of a vehicle: stated keys with their values, every other
// key behind a #, each with its meaning, how to find it out and what is assumed if it is left out.
// Changes are left out.
func (v *Vehicle) Text() []byte {
	var b strings.Builder
	b.WriteString(opening)
	for rows := range tables {
		v.writeTable(&b, rows)
	}
	b.WriteString(changeExample)
	return []byte(b.String())
}

// writeTable writes a table, or all elements of a list. Elements after the first get only the keys
// that they state.
func (v *Vehicle) writeTable(b *strings.Builder, rows []key) {
	table := rows[0].table()
	list := rows[0].list()
	stated := func(k *key, i int) bool { return i < v.count(k) && v.isStated(k, i) }
	for i := range max(v.count(&rows[0]), 1) {
		hash := "# "
		if list != "" && i < v.count(&rows[0]) || slices.ContainsFunc(rows, func(k key) bool { return stated(&k, i) }) {
			hash = ""
		}
		switch {
		case list != "" && i == 0:
			fmt.Fprintf(b, "# %s\n%s[[%s]]\n", heads[table], hash, table)
		case list != "":
			fmt.Fprintf(b, "[[%s]]\n", table)
		case table != "" && heads[table] != "":
			fmt.Fprintf(b, "# %s\n%s[%s]\n", heads[table], hash, table)
		case table != "":
			fmt.Fprintf(b, "%s[%s]\n", hash, table)
		}
		for _, k := range rows {
			if i == 0 || stated(&k, i) {
				v.writeKey(b, &k, i, stated(&k, i))
			}
		}
		b.WriteString("\n")
	}
}

// writeKey writes one key with its comments; in a list only the first element has comments.
func (v *Vehicle) writeKey(b *strings.Builder, k *key, i int, stated bool) {
	name := k.name()
	if i == 0 {
		fmt.Fprintf(b, "# %s%s: %s.\n", name, strings.TrimSuffix(" ("+k.unit+")", " ()"), k.is)
		fmt.Fprintf(b, "#   find out: %s.\n", k.how)
		if k.need {
			b.WriteString("#   needed.\n")
		} else {
			fmt.Fprintf(b, "#   left out: %s.\n", v.leftOut(k))
		}
	}
	if stated {
		fmt.Fprintf(b, "%s = %s\n", name, v.tomlValue(k, i))
		return
	}
	fmt.Fprintf(b, "# %s =\n", name)
}

// tomlValue returns a stated value as TOML.
func (v *Vehicle) tomlValue(k *key, i int) string {
	if k.kind == wordKind || k.kind == textKind {
		return strconv.Quote(v.field(k, i).String())
	}
	return v.written(k, i)
}

// leftOut words what is assumed for a key that a file like this leaves out.
func (v *Vehicle) leftOut(k *key) string {
	b, known := v.priorOf(k)
	switch {
	case k.prior.word != "":
		return k.prior.word
	case !known:
		return k.prior.source
	case b.SD == 0:
		return Short(b.Value) + unitAfter(k.unit) + " (" + k.prior.source + ")"
	}
	return fmt.Sprintf("about %s%s, 19 in 20 from %s to %s (%s)", Short(b.Value), unitAfter(k.unit), Short(b.Low), Short(b.High), k.prior.source)
}

func unitAfter(unit string) string { return strings.TrimRight(" "+unit, " ") }

// Short formats a number to three digits.
func Short(x float64) string { return units.Digits(x, 3) }

// priorOf returns what is assumed for a key that a file like this leaves out. It reports false if
// nothing is assumed or the vehicle is assumed to have no such thing.
func (v *Vehicle) priorOf(k *key) (Belief, bool) {
	if k.prior.median == nil || v.count(k) == 0 {
		return Belief{}, false
	}
	if !k.numeric() {
		x := k.prior.median(v, 0)
		return Belief{Value: x, Low: x, High: x}, true
	}
	b := v.priorBelief(k, 0)
	return b, !b.isNone(k)
}

// A Row is one key of the table, for people and scripts.
type Row struct {
	Key      string   `json:"key"`
	Unit     string   `json:"unit"`
	Required bool     `json:"required"`
	Accepted string   `json:"accepted"`
	Words    []string `json:"words,omitempty"` // those allowed
	Typical  *float64 `json:"typical"`         // if left out; nil: nothing is assumed
	Word     string   `json:"word,omitempty"`
	Low      *float64 `json:"low"` // 95 %
	High     *float64 `json:"high"`
	Is       string   `json:"is"`
	FindOut  string   `json:"find_out"`
	Source   string   `json:"source"`
}

// Table returns every key, with what is assumed if a file like this vehicle's leaves it out.
func (v *Vehicle) Table() (out []Row) {
	for j := range keys {
		out = append(out, v.row(&keys[j]))
	}
	return out
}

// Describe returns the row of a key by its path as Set takes it, or the zero Row if there is none.
func (v *Vehicle) Describe(path string) Row {
	k, _, err := v.find(path)
	if err != nil {
		return Row{}
	}
	return v.row(k)
}

func (v *Vehicle) row(k *key) Row {
	r := Row{Key: strings.Replace(k.path, ".*.", ".NAME.", 1), Unit: k.unit, Required: k.need, Accepted: k.want(), Words: k.words, Word: k.prior.word,
		Is: k.is, FindOut: k.how, Source: k.prior.source}
	if b, ok := v.priorOf(k); ok {
		r.Typical, r.Low, r.High = &b.Value, &b.Low, &b.High
	}
	return r
}
