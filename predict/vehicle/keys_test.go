package vehicle

import (
	"fmt"
	"math"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Every key has a unit, sentences, a range, and a prior or the word that it is
// needed; each field of the vehicle has a row, and what a prior is a formula of
// stands before it, or is a formula of it.
func TestTableIsWhole(t *testing.T) {
	unitless := []string{"normal_drag", "skin_drag", "astern", "wake", "thrust_factor", "drag_factor"}
	seen := map[string]bool{}
	for j := range keys {
		k := &keys[j]
		assert.False(t, seen[k.path], "%s twice", k.path)
		seen[k.path] = true
		for _, sentence := range []string{k.is, k.how} {
			assert.NotEmpty(t, sentence, k.path)
			assert.NotRegexp(t, `[.]$`, sentence, k.path)
		}
		switch k.kind {
		case numberKind, settingKind:
			assert.Equal(t, k.unit == "", slices.Contains(unitless, k.name()), "unit of %s", k.path)
			assert.Less(t, k.low, k.high, k.path)
		case countKind, listKind:
			assert.Less(t, k.low, k.high, k.path)
		case wordKind:
			assert.NotEmpty(t, k.words, k.path)
		}
		assert.Equal(t, k.kind == numberKind, k.tol.sd > 0, "tolerance of %s", k.path)
		if k.need {
			assert.Equal(t, prior{}, k.prior, k.path)
			continue
		}
		assert.NotEmpty(t, k.prior.source, k.path)
		if k.prior.spread.sd > 0 {
			assert.NotNil(t, k.prior.median, k.path)
		}
		for _, path := range k.prior.from {
			from := byPath[path]
			require.NotNil(t, from, path)
			assert.Equal(t, k.list(), from.list(), path)
			assert.True(t, from.rank < k.rank || slices.Contains(from.prior.from, k.path), "%s is needed before %s", path, k.path)
		}
	}
	for path := range fields(reflect.TypeFor[Vehicle](), "") {
		assert.True(t, seen[path] || path == "tether.power.shared_return", "%s has no row", path)
	}
}

// fields are the paths of a struct's values by their tags.
func fields(t reflect.Type, prefix string) map[string]bool {
	out := map[string]bool{}
	for i := range t.NumField() {
		f := t.Field(i)
		tag, of := f.Tag.Get("toml"), f.Type
		if tag == "" || tag == "-" {
			continue
		}
		path := prefix + tag
		if of.Kind() == reflect.Slice && of.Elem().Kind() == reflect.Struct {
			path, of = path+".*", of.Elem()
		}
		if of.Kind() != reflect.Struct {
			out[path] = true
			continue
		}
		for p := range fields(of, path+".") {
			out[p] = true
		}
	}
	return out
}

// anyText draws a file of any keys with any values that the table takes.
func anyText(rt *rapid.T) string {
	var b strings.Builder
	table := ""
	for j := range keys {
		k := &keys[j]
		if k.table() != table {
			table = k.table()
			if k.list() != "" {
				fmt.Fprintf(&b, "[[%s]]\n", table)
			} else {
				fmt.Fprintf(&b, "[%s]\n", table)
			}
		}
		isSize := slices.Contains(sizes, k.name())
		if isSize && k.name() != "ohm_km" || !isSize && !k.need && rapid.Bool().Draw(rt, "leave out "+k.path) {
			continue
		}
		fmt.Fprintf(&b, "%s = %s\n", k.name(), anyValue(rt, k))
	}
	return b.String()
}

func anyValue(rt *rapid.T, k *key) string {
	within := func() float64 {
		lo, hi := k.low, k.high
		if lo > 0 && rapid.Bool().Draw(rt, "by factors") {
			return min(max(lo*math.Pow(hi/lo, rapid.Float64Range(0, 1).Draw(rt, k.path)), lo), hi)
		}
		return rapid.Float64Range(lo, hi).Draw(rt, k.path)
	}
	switch k.kind {
	case countKind:
		return fmt.Sprint(int(within()))
	case wordKind:
		return fmt.Sprintf("%q", rapid.SampledFrom(k.words).Draw(rt, k.path))
	case textKind:
		return `"x"`
	case flagKind:
		return fmt.Sprint(rapid.Bool().Draw(rt, k.path))
	case listKind:
		return fmt.Sprintf("[%g, %g]", within(), within())
	}
	if x, y := within(), within(); k.kind == numberKind && x < y && rapid.Bool().Draw(rt, "range") {
		return fmt.Sprintf("[%g, %g]", x, y)
	}
	return fmt.Sprintf("%g", within())
}

// Every accepted file reads back as it was from its own commented text, every
// number of it lies where the table says, and what is drawn from it is a
// vehicle too.
func TestAcceptedFilesRoundTrip(t *testing.T) {
	accepted := 0
	rapid.Check(t, func(rt *rapid.T) {
		text := anyText(rt)
		v, err := read(text)
		if err != nil { // an impossible test or size of one key to another
			require.Regexp(rt, `impossible test|want less than half|want more than from_m|at which half of battery.nominal_v`, err.Error(), text)
			return
		}
		accepted++
		again, err := read(string(v.Text()))
		require.NoError(rt, err, string(v.Text()))
		require.Equal(rt, v, again)
		require.NoError(rt, v.Check(), text)
		for _, b := range v.Beliefs() {
			require.LessOrEqual(rt, b.Low, b.Value, b.Path)
			require.GreaterOrEqual(rt, b.High, b.Value, b.Path)
			require.False(rt, math.IsNaN(b.SD) || math.IsInf(b.SD, 0) || b.SD < 0, b.Path)
		}
		require.NoError(rt, v.Draw(func() float64 { return rapid.Float64Range(-3, 3).Draw(rt, "z") }).Check())
	})
	if !testing.Short() { // which draws fewer
		assert.Greater(t, accepted, 10)
	}
}

// Set takes every key that is listed, and giving each the value that it has
// changes nothing.
func TestKeysAreWhatSetTakes(t *testing.T) {
	text, err := os.ReadFile("testdata/every_key.toml")
	require.NoError(t, err)
	v, err := read(string(text))
	require.NoError(t, err)
	w := v.Clone()
	values := map[string]string{}
	for _, k := range v.Keys() {
		if values[k.Name] = k.Value; k.Value != "" {
			assert.NoError(t, w.Set(k.Name+"="+k.Value), k.Name)
		}
		assert.NotEmpty(t, k.Is, k.Name)
	}
	for k := range w.stated { // giving a prior's median states it
		if _, ok := v.stated[k]; !ok {
			delete(w.stated, k)
		}
	}
	assert.Equal(t, v, w)
	assert.Equal(t, "-160", values["thruster.port.arm_mm"])
	assert.Equal(t, "0", values["tether.power.awg"])
	assert.Equal(t, "", values["tether.signal.awg"])
	assert.Equal(t, "imperial", values["units"])
	assert.Equal(t, "[0.02, 0.05]", values["battery.resistance_ohm"])
	assert.Equal(t, "50", values["tube.2.outer_mm"], "one without a name goes by its number")
}

// The range of a battery's resistance holds that of every label and capacity that is
// taken, by the prior's formula.
func TestResistanceOfSmallPacks(t *testing.T) {
	of := func(text string) (*Vehicle, error) {
		return read("name = \"x\"\n[battery]\n" + text + "\n[tether]\nlength_m = 20\n[tether.power]\narea_mm2 = 2.5\n[[thruster]]\nname = \"a\"\naxis = \"surge\"\n")
	}
	_, err := of("nominal_v = 36\ncapacity_ah = 0.5\nresistance_ohm = 2.4")
	assert.NoError(t, err)
	nominal, capacity := byPath["battery.nominal_v"], byPath["battery.capacity_ah"]
	for _, c := range chemistryNames {
		v, err := of(fmt.Sprintf("nominal_v = %g\ncapacity_ah = %g\nchemistry = %q", nominal.high, capacity.low, c))
		require.NoError(t, err)
		assert.InDelta(t, batteryOhm(v, 0), v.Battery.ResistanceOhm, 1e-9, c)
		assert.LessOrEqual(t, 2*v.Battery.ResistanceOhm, byPath["battery.resistance_ohm"].high, c)
		assert.LessOrEqual(t, v.Limits.BatteryResistanceOhm, byPath["limits.battery_resistance_ohm"].high, c)
		assert.InDelta(t, 2*v.Battery.ResistanceOhm, v.Limits.BatteryResistanceOhm, 1e-9, c)
	}
}
