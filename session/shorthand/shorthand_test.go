package shorthand_test

import (
	"flag"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sagline/session"
	"sagline/session/shorthand"
)

// Property tests draw the same cases on every run, so that a change fails by
// its own fault; -rapid.seed=0 draws others.
func init() { _ = flag.Set("rapid.seed", "1") }

func columns(names string) (out []*session.Column) {
	for n := range strings.FieldsSeq(names) {
		c, _ := session.Find(n)
		out = append(out, c)
	}
	return out
}

// reader is of a vehicle with three thrusters whose log has the usual columns.
func reader() *shorthand.Reader {
	return &shorthand.Reader{Thrusters: []string{"port", "starboard", "vertical"},
		Columns: columns("minute time thrusters held lights battery_v current_a vehicle_v depth_m tether_out_m speed_m_s run_m run_s climb_m_s trim_g pull_n water_c serviced note")}
}

// order is where numbers alone go: of lines at rest the hover weight, of others
// current and speed.
func order(row session.Row) []*session.Column {
	if row["thrusters"] == "off" {
		return columns("minute thrusters battery_v depth_m climb_m_s trim_g")
	}
	return columns("minute thrusters battery_v current_a vehicle_v depth_m speed_m_s")
}

func TestRead(t *testing.T) {
	both := session.Row{"thrusters": "port + starboard", "battery_v": "12.31", "current_a": "8.1", "vehicle_v": "8.72", "depth_m": "4.2", "speed_m_s": "0.45"}
	less := session.Row{"thrusters": "port + starboard", "battery_v": "12.31", "current_a": "8.1", "depth_m": "4.2", "speed_m_s": "0.45"}
	less2 := session.Row{"thrusters": "port + starboard", "battery_v": "12.31", "current_a": "8.1", "vehicle_v": "", "depth_m": "4.2", "speed_m_s": "0.45"}
	for text, want := range map[string]session.Row{
		"p+s 12.31 8.1 8.72 4.2 .45":                             both,
		"p+s\t12,31\t8,1\t8,72\t4,2\t,45":                        both,
		"PS 12.31 8.1A 8.72 V 4.2m .45 m/s":                      both,
		"l+r 4.2m 12.31V 8.1 8.72 .45m/s":                        both,
		"4.2m .45m/s l+r 12.31V 8.1 8.72V":                       both,
		"12.31V 8.1A 8.72V starb + PORT depth 4.2 speed=0.45":    both,
		"p+s 12.31 8.1 - 4.2 .45":                                less2,
		"p+s;12.31;8.1;;4.2;.45":                                 less2,
		"p+s .45m/s 8.1A 12.31V 4.2m":                            less,
		"9 p+s held 12.3":                                        {"minute": "9", "thrusters": "port + starboard", "held": "yes", "battery_v": "12.3"},
		"9 s 12.3 5.2":                                           {"minute": "9", "thrusters": "starboard", "battery_v": "12.3", "current_a": "5.2"},
		"27 V 12.48":                                             {"minute": "27", "thrusters": "vertical", "battery_v": "12.48"},
		"off 12.7 V 4.2 m":                                       {"thrusters": "off", "battery_v": "12.7", "depth_m": "4.2"},
		"5 off 12.79 0 - 70":                                     {"minute": "5", "thrusters": "off", "battery_v": "12.79", "depth_m": "0", "climb_m_s": "", "trim_g": "70"},
		"off −5g .145m/s":                                        {"thrusters": "off", "trim_g": "-5", "climb_m_s": "0.145"},
		"port astern + s astern 12.3":                            {"thrusters": "port astern + starboard astern", "battery_v": "12.3"},
		"down 12.4":                                              {"thrusters": "vertical down", "battery_v": "12.4"},
		"10:42 p 12 V note weed, 3 m of it; off":                 {"time": "10:42", "thrusters": "port", "battery_v": "12", "note": "weed, 3 m of it; off"},
		"p 250mA 14ft 22s 10 m":                                  {"thrusters": "port", "current_a": "0.25", "depth_m": "4.2672", "run_s": "22", "tether_out_m": "10"},
		"p+s run_m 10 run_s .5min":                               {"thrusters": "port + starboard", "run_m": "10", "run_s": "30"},
		"off lights on 12.3":                                     {"thrusters": "off", "lights": "on", "battery_v": "12.3"},
		"P S 12.31 8.1 8.72 4.2 .45":                             both,
		"p+s, 12,31V, 8,1A, 8,72V, 4,2m, ,45":                    both,
		"p+s: 12.31 / 8.1 / 8.72 / 4.2 / .45":                    both,
		"p+s | 12.31 | 8.1 | | 4.2 | .45":                        less2,
		"port and starboard 12.31 8.1 - 4.2 .45":                 less2,
		"P/S 12.31 8.1 - 4.2 .45":                                less2,
		"27 v 12.48 v 3.1 a":                                     {"minute": "27", "thrusters": "vertical", "battery_v": "12.48", "current_a": "3.1"},
		"12.48 v p 3.1 a":                                        {"thrusters": "port", "battery_v": "12.48", "current_a": "3.1"},
		"ps astern 12.3":                                         {"thrusters": "port astern + starboard astern", "battery_v": "12.3"},
		"astern p+s 12.3":                                        {"thrusters": "port astern + starboard astern", "battery_v": "12.3"},
		"astern p 12.3":                                          {"thrusters": "port astern", "battery_v": "12.3"},
		"both back 12.3":                                         {"thrusters": "port astern + starboard astern", "battery_v": "12.3"},
		"p rev + s rev 12.3":                                     {"thrusters": "port astern + starboard astern", "battery_v": "12.3"},
		"off light 12.3":                                         {"thrusters": "off", "lights": "on", "battery_v": "12.3"},
		"p light off 12.3":                                       {"thrusters": "port", "lights": "off", "battery_v": "12.3"},
		"off +5g 12.7V":                                          {"thrusters": "off", "trim_g": "5", "battery_v": "12.7"},
		"5.9.2026 12C":                                           {"date": "2026-09-05", "water_c": "12"},
		"date 9/13/26 12C":                                       {"date": "2026-09-13", "water_c": "12"},
		"joint+prop 12C battery B":                               {"serviced": "joint+propeller", "water_c": "12", "battery": "B"},
		"off 12.6 57.2F 2oz serviced hull dive 7 date 2026-5-31": {"thrusters": "off", "water_c": "14", "trim_g": "56.69905", "battery_v": "12.6", "serviced": "hull", "dive": "7", "date": "2026-05-31"},
	} {
		line, err := reader().Read(text, order)
		require.NoError(t, err, text)
		assert.Equal(t, want, line.Row, text)
	}
}

// Where a name says nothing of its place, words for that do; one letter does not.
func TestSides(t *testing.T) {
	r := &shorthand.Reader{Thrusters: []string{"A", "B2", "Lift 1"}, Sides: map[string]string{"port": "A", "starboard": "B2", "vertical": "Lift 1", "both": "A + B2"}}
	c, _ := session.Find("thrusters")
	for answer, want := range map[string]string{"LEFT": "A", "left+right": "A + B2", "both": "A + B2", "both astern": "A astern + B2 astern", "port astern": "A astern",
		"up": "Lift 1", "down": "Lift 1 down", "stbd + up": "B2 + Lift 1", "l": "Lift 1"} {
		got, err := r.Cell(c, answer)
		require.NoError(t, err, answer)
		assert.Equal(t, want, got, answer)
	}
	for _, answer := range []string{"l+r", "p+s", "p", "all", "left+A"} {
		_, err := r.Cell(c, answer)
		assert.Error(t, err, answer)
	}
}

// Vehicles have other thrusters: names of several words, with digits in them, of
// digits alone, and that are units.
func TestReadOtherNames(t *testing.T) {
	usual := func(session.Row) []*session.Column {
		return columns("minute thrusters battery_v current_a vehicle_v depth_m")
	}
	for _, c := range []struct{ names, text, thrusters, minute, volts, amps string }{
		{"front left,front right,tail", "front left + FRONT RIGHT + tail 11,8 5,7", "front left + front right + tail", "", "11.8", "5.7"},
		{"front left,front right,tail", "9 fl+fr+t 11.8 5.7", "front left + front right + tail", "9", "11.8", "5.7"},
		{"front left,front right,tail", "9 fr t 11.8 5.7", "front right + tail", "9", "11.8", "5.7"},
		{"front left,front right,tail", "front l astern 11.8", "front left astern", "", "11.8", ""},
		{"A,B2,Lift 1", "12 a 23.8 4.4 a", "A", "12", "23.8", "4.4"},
		{"A,B2,Lift 1", "12 A astern + B2 astern 23.8V 4.4A", "A astern + B2 astern", "12", "23.8", "4.4"},
		{"A,B2,Lift 1", "a rev + b rev 23.8 4.4", "A astern + B2 astern", "", "23.8", "4.4"},
		{"A,B2,Lift 1", "12 lift 1 23.8 4.4", "Lift 1", "12", "23.8", "4.4"},
		{"A,B2,Lift 1", "l1 down 23.8 4.4", "Lift 1 down", "", "23.8", "4.4"},
		{"1,2,3", "7 1+2 23.6 7.6", "1 + 2", "7", "23.6", "7.6"},
		{"1,2,3", "7 1 + 2 23.6V 7.6A", "1 + 2", "7", "23.6", "7.6"},
		{"1,2,3", "11 1 23.8 4.4", "1", "11", "23.8", "4.4"},
		{"1,2,3", "11 1 astern + 2 astern 23.8 4.4", "1 astern + 2 astern", "11", "23.8", "4.4"},
		{"1,2,3", "11 off 23.8", "off", "11", "23.8", ""},
	} {
		r := &shorthand.Reader{Thrusters: strings.Split(c.names, ","), Columns: columns("minute thrusters battery_v current_a vehicle_v depth_m trim_g")}
		line, err := r.Read(c.text, usual)
		require.NoError(t, err, c.text)
		got := line.Row
		assert.Equal(t, []string{c.thrusters, c.minute, c.volts, c.amps}, []string{got["thrusters"], got["minute"], got["battery_v"], got["current_a"]}, c.text)
	}
	for _, text := range []string{"front 11.8", "f 11.8", "fl + front 11.8", "left 11.8"} {
		r := &shorthand.Reader{Thrusters: []string{"front left", "front right", "tail"}, Columns: columns("thrusters battery_v")}
		_, err := r.Read(text, usual)
		assert.Error(t, err, text)
	}
}

// A word that means nothing is named, and another can stand for it.
func TestUnread(t *testing.T) {
	for text, want := range map[string]struct{ word, why, put, then string }{
		"prot 12.3":                    {"prot", `(nearest: "port")`, "p", "p 12.3"},
		"p 12.3 8 8.7 4 .4 9":          {"9", "one number more", "", "p 12.3 8 8.7 4 .4 "},
		"1 2 p 12.3":                   {"2", "one number more", "", "1  p 12.3"},
		"p 12.3x":                      {"12.3x", "or one in a unit of", "12.3", "p 12.3"},
		"p s v + p 12.3":               {"p s v + p", "want thrusters", "p s v", "p s v 12.3"},
		"p+p 12.3":                     {"p+p", "want thrusters", "p", "p 12.3"},
		"p battery_v 12.3 battery_v 9": {"battery_v 9", "want battery_v once: 12.3 is given", "", "p battery_v 12.3 "},
		"p 1,2,3":                      {"1,2,3", "want a number", "1.2", "p 1.2"},
		"p 4.2m 12.3 8":                {"8", "one number more", "8A", "p 4.2m 12.3 8A"},
		"p + prot 5 m":                 {"p + prot", "want thrusters", "p+s", "p+s 5 m"},
		"up5 12.3":                     {"up5", "a column or note", "p", "p 12.3"},
		"xx 12.3":                      {"xx", "a column or note", "p", "p 12.3"},
		"p depth_m 9999":               {"depth_m 9999", "depth_m: found", "", "p "},
		"p 12.3 depth 9999 m":          {"depth 9999 m", "depth_m: found", "9.9", "p 12.3 depth_m 9.9"},
		"date 5/9/2026 12C":            {"date 5/9/2026", "date: found \"5/9/2026\", want a day as 2026-05-31", "2026-09-05", "date 2026-09-05 12C"},
		"5.9. 12C":                     {"5.9.", "want the year too", "2026-09-05", "2026-09-05 12C"},
		"p depth=x 12.3":               {"depth=x", "depth_m: found", "9.9 m", "p depth_m 9.9 m 12.3"},
	} {
		_, err := reader().Read(text, order)
		var unread *shorthand.Unread
		require.ErrorAs(t, err, &unread, text)
		assert.Equal(t, want.word, unread.Word, text)
		assert.Contains(t, unread.Why, want.why, text)
		assert.Equal(t, want.then, unread.Replaced(want.put), text)
	}
}

// A number alone goes before the thrusters only where the order has a column there.
func TestNothingBeforeTheThrusters(t *testing.T) {
	first := func(session.Row) []*session.Column { return columns("thrusters battery_v current_a") }
	_, err := reader().Read("5 p 12.3", first)
	var unread *shorthand.Unread
	require.ErrorAs(t, err, &unread)
	assert.Equal(t, "5", unread.Word)
	assert.Contains(t, unread.Why, "one number more")
	line, err := reader().Read("p 12.3 5", first)
	require.NoError(t, err)
	assert.Equal(t, session.Row{"thrusters": "port", "battery_v": "12.3", "current_a": "5"}, line.Row)
}

// A name that is short is near to nothing.
func TestNothingIsNearAShortName(t *testing.T) {
	r := &shorthand.Reader{Thrusters: []string{"A", "B2", "bow jet"}}
	for text, near := range map[string]bool{"up 12": false, "all 12": false, "c 12": false, "bow+jef 12": true} {
		_, err := r.Read(text, order)
		require.Error(t, err, text)
		assert.Equal(t, near, strings.Contains(err.Error(), "nearest"), err)
	}
}

// A yes alone is for the one column that takes it; a unit is first looked for in
// the order.
func TestYesAndUnits(t *testing.T) {
	held, _ := session.Find("held")
	r := &shorthand.Reader{Thrusters: []string{"port"}, Columns: columns("minute thrusters held battery_v trim_oz ballast_g run_s"), Yes: held}
	in := func(session.Row) []*session.Column { return columns("minute thrusters battery_v trim_oz") }
	for text, want := range map[string]session.Row{
		"p y 12.3":         {"thrusters": "port", "held": "yes", "battery_v": "12.3"},
		"p YES 12.3":       {"thrusters": "port", "held": "yes", "battery_v": "12.3"},
		"off 12.7 56.6990": {"thrusters": "off", "battery_v": "12.7", "trim_oz": "56.6990"},
		"off 12.7V 100g":   {"thrusters": "off", "battery_v": "12.7", "trim_oz": "3.527396"},
		"p 12.3 22s":       {"thrusters": "port", "battery_v": "12.3", "run_s": "22"},
		"3min p 12.3":      {"minute": "3", "thrusters": "port", "battery_v": "12.3"},
	} {
		line, err := r.Read(text, in)
		require.NoError(t, err, text)
		assert.Equal(t, want, line.Row, text)
	}
	_, err := reader().Read("p y 12.3", order)
	assert.Error(t, err, "held or lights")
}

// A log's own columns take the words up to the next column.
func TestOwnColumns(t *testing.T) {
	r := reader()
	r.Columns = append(r.Columns, session.OwnColumn("wind"), session.OwnColumn("Sky"))
	for text, want := range map[string]session.Row{
		"14C wind NW 3 sky low cloud, 8/8 joint": {"water_c": "14", "wind": "NW 3", "Sky": "low cloud, 8/8 joint"},
		"p+s 12.3 WIND none note calm":           {"thrusters": "port + starboard", "battery_v": "12.3", "wind": "none", "note": "calm"},
		"wind=3 s battery B":                     {"wind": "3 s", "battery": "B"},
	} {
		line, err := r.Read(text, order)
		require.NoError(t, err, text)
		assert.Equal(t, want, line.Row, text)
	}
	for _, text := range []string{"wind", "wind sky low", "wind a wind b"} {
		_, err := r.Read(text, order)
		assert.ErrorContains(t, err, "wind", text)
	}
	for name, may := range map[string]bool{"wind": true, "sea state": false, "__proto__": false, "=1": false, "p": false, "12": false, "kn": false, "depth_m": false} {
		assert.Equal(t, may, r.UsableName(name), name)
	}
}

// What changes in a line that is written has its column, or the only one in its
// unit.
func TestChanges(t *testing.T) {
	row, err := reader().Changes("8.4A depth_m - p+s note x")
	require.NoError(t, err)
	assert.Equal(t, session.Row{"current_a": "8.4", "depth_m": "", "thrusters": "port + starboard", "note": "x"}, row)
	for text, want := range map[string]string{"12.3V": "battery_v 12.3 or vehicle_v 12.3", "4.2m": "depth_m 4.2 or tether_out_m 4.2", "12.3": "name its column"} {
		_, err := reader().Changes(text)
		assert.ErrorContains(t, err, want, text)
	}
}

func TestCell(t *testing.T) {
	for _, c := range []struct{ column, answer, want string }{
		{"battery_v", "12,3", "12.3"}, {"battery_v", " 12.3 V", "12.3"}, {"battery_v", "12300 mV", "12.3"}, {"battery_v", "-", ""},
		{"pull_n", "1 kgf", "9.80665"}, {"thrusters", "ps", "port + starboard"}, {"thrusters", "LEFT", "port"}, {"thrusters", "none", "off"},
		{"held", "y", "yes"}, {"held", "No", "no"}, {"lights", "yes", "on"}, {"serviced", "Seal + prop", "seal+propeller"}, {"note", "y", "y"}, {"trim_g", "-.5", "-0.5"},
	} {
		column, _ := session.Find(c.column)
		got, err := reader().Cell(column, c.answer)
		require.NoError(t, err, c.answer)
		assert.Equal(t, c.want, got, c.answer)
	}
	for column, answer := range map[string]string{"battery_v": "12.3 A", "depth_m": "1e9", "thrusters": "x", "current_a": "8..1"} {
		c, _ := session.Find(column)
		_, err := reader().Cell(c, answer)
		assert.Error(t, err, answer)
	}
}

// A vehicle's names may begin alike: short forms of more than one are a problem,
// and no name stands for another.
func TestShortFormsAreUnambiguous(t *testing.T) {
	r := &shorthand.Reader{Thrusters: []string{"left outer", "left inner", "lift"}}
	c, _ := session.Find("thrusters")
	for answer, want := range map[string]string{"left outer": "left outer", "LeftOu": "left outer", "left i+lif": "left inner + lift"} {
		got, err := r.Cell(c, answer)
		require.NoError(t, err)
		assert.Equal(t, want, got)
	}
	for _, answer := range []string{"l", "left", "ll", "o"} {
		_, err := r.Cell(c, answer)
		assert.Error(t, err, answer)
	}
	rapid.Check(t, func(rt *rapid.T) {
		names := rapid.SliceOfNDistinct(rapid.StringMatching(`[a-c]{1,4}`), 1, 4, rapid.ID).Draw(rt, "names")
		r := &shorthand.Reader{Thrusters: names}
		for _, n := range names {
			got, err := r.Cell(c, strings.ToUpper(n))
			require.NoError(rt, err)
			assert.Equal(rt, n, got)
		}
	})
}

// Whatever is typed is read or named as unread, and what is read in full by
// names comes back.
func FuzzRead(f *testing.F) {
	for _, seed := range []string{"p+s 12.31 8.1 8.72 4.2 .45", "p\x00+s", "note", "depth_m", "9 s 12,3 V;;4", "- - -", "−", "held y lights on", "1 2 3 4 5 6 7 8"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		line, err := reader().Read(text, order)
		if err != nil {
			require.ErrorAs(t, err, new(*shorthand.Unread))
			return
		}
		for name, cell := range line.Row {
			c, ok := session.Find(name)
			require.True(t, ok)
			if c.Unit != "" && cell != "" {
				_, err := c.Number(cell)
				require.NoError(t, err)
			}
		}
	})
}
