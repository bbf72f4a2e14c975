package plotting

import (
	"bytes"
	"flag"
	"fmt"
	"html"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"codeberg.org/go-fonts/dejavu/dejavusans"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/image/font/opentype"
	"gonum.org/v1/plot/font"

	"sagline/predict/advice"
	"sagline/predict/findings"
	"sagline/session/units"
)

var update = flag.Bool("update", false, "write the golden pictures anew")

// residuals of an invented log of n dives: some as predicted, some far out, a
// slip now and then.
func residuals(n int) *Grid {
	g := &Grid{Dives: n}
	for k, name := range []string{"battery at rest", "current", "hover weight"} {
		row := GridRow{Name: name}
		for d := range n {
			c := GridCell{Readings: (d + k) % 4, Z: float64((d*7+k*5)%9)/2 - 2 - float64(d*k)/4}
			if c.height() > 0 {
				c.Far = 1
			}
			if (d*12+k)%17 == 5 {
				c.SetAside = 1
			}
			row.Cells = append(row.Cells, c)
		}
		g.Rows = append(g.Rows, row)
	}
	return g
}

// trend is the picture of the only quantity of a report.
func trend(t *testing.T, rep *findings.Report, room Layout) *Picture {
	t.Helper()
	trace := ReadTrace(rep, "excess_resistance_ohm")
	when := ReadTimeline(rep.Dives, true)
	return TrendPicture(rep, trace, when, room, true)
}

// pictures are all kinds of picture in a room, few dives and many.
func pictures(t *testing.T, room Layout) map[string]*Picture {
	t.Helper()
	out := map[string]*Picture{}
	for _, n := range []int{3, 30, 300} {
		out[fmt.Sprint("trend_", n)] = trend(t, report(n), room)
	}
	for _, n := range []int{3, 30} {
		out[fmt.Sprint("residuals_", n)] = GridPicture(report(n), residuals(n), true, room)
	}
	out["budget"] = BudgetPicture([]Share{{"port", [7]float64{1, 12, 2, 1, 14, 39, 0}}, {"port + starboard", [7]float64{3, 27, 3, 1, 16, 53, 6}}}, room, true)
	out["vehicle"] = DrawVehicle(craft(), judged(t, map[string]float64{"power_loop": 0.4, "friction:port": 1.2, "instrument:current_a": 1.3}), room).Picture()
	out["before_and_after"] = (&Repair{"joint serviced, dive 9", []RepairRow{{"speed ahead", "m/s", 2, advice.Range{Low: 0.36, Value: 0.4, High: 0.43}, advice.Range{Low: 0.47, Value: 0.5, High: 0.52}},
		{"pull", "N", 1, advice.Range{Low: 8.1, Value: 9, High: 9.9}, advice.Range{Low: 5, Value: 6, High: 6.8}}}}).Picture(room)
	cable := Cable{Verdict: "it can hold there", TetherOutM: 30, CurrentMS: 0.3, Holding: advice.Holding{ForceUpN: 3, GreatestUpN: 9, ForceDownN: 1, GreatestDownN: 4, TensionN: 2, Share: 1,
		Shape: []advice.CablePoint{{}, {XM: 8, ZM: 1}, {XM: 14, ZM: 6}, {XM: 15, ZM: 12}}}}
	out["cable"] = cable.Picture(room)
	cable.Share, cable.Verdict = 0, "it cannot hold there: too little"
	out["cannot_hold"] = cable.Picture(room)
	out["stations"] = PlacesPicture("where it can hold", units.Find("m"), []advice.Place{{OffsetM: -5, DepthM: 5}, {DepthM: 5, Held: "yes"}, {OffsetM: 5, DepthM: 5, Held: "no"}}, room)
	sweep, err := SweepPicture("tether.length_m", "speed", []float64{10, 20, 30}, []float64{108, 104, 100}, []float64{117, 108, 100}, room)
	require.NoError(t, err)
	out["sweep"] = sweep
	return out
}

// The same log gives the same bytes, on every machine; what they are is kept,
// for the sizes with most room and least.
func TestGoldenPictures(t *testing.T) {
	for _, use := range []string{"screen", "phone"} {
		size, err := SizeFor(use)
		require.NoError(t, err)
		for name, p := range pictures(t, size.Layout()) {
			var svg bytes.Buffer
			require.NoError(t, size.Draw(Names{Vehicle: "Invented"}, p, &svg, "svg"))
			assert.Regexp(t, `<title>Invented: .+</title>\n<desc>.{30,}`, svg.String(), "%s says in words what it shows", name)
			path := filepath.Join("testdata", name+"_"+use+".svg")
			if *update {
				require.NoError(t, os.MkdirAll("testdata", 0o755))
				require.NoError(t, os.WriteFile(path, svg.Bytes(), 0o644))
			}
			want, err := os.ReadFile(path)
			require.NoError(t, err)
			assert.Equal(t, string(want), svg.String(), "%s: look at it, then go test ./plotting -update", path)
		}
	}
}

// A plot that is drawn twice, in any format, is the same bytes.
func TestFormatsRepeat(t *testing.T) {
	p := trend(t, report(30), Sizes[2].Layout())
	for _, format := range Formats {
		var one, two bytes.Buffer
		require.NoError(t, Sizes[2].Draw(Names{Vehicle: "Invented"}, p, &one, format))
		require.NoError(t, Sizes[2].Draw(Names{Vehicle: "Invented"}, p, &two, format))
		assert.True(t, bytes.Equal(one.Bytes(), two.Bytes()), format)
	}
}

// A vehicle's name may hold anything.
func TestHostileNamesInPictures(t *testing.T) {
	rep := report(5)
	rep.Vehicle = "<script>\x00\x1b\u202e&\"'" + string(bytes.Repeat([]byte("W"), 5000))
	rep.Alarms[0].RaisedDive, rep.Dives[1].Dive = "\x07<b>", "\x07<b>"
	p := trend(t, rep, OnPage)
	var svg bytes.Buffer
	require.NoError(t, Sizes[0].Draw(Names{Vehicle: rep.Vehicle}, p, &svg, "svg"))
	assert.NotContains(t, svg.String(), "<script>")
	assert.NotRegexp(t, "[\x00-\x08\x0b-\x1f]", svg.String())
	for _, format := range Formats {
		require.NoError(t, Sizes[3].Draw(Names{Vehicle: rep.Vehicle}, p, &svg, format))
	}
}

// A limit so far away that the points would be a line is named, not drawn.
func TestFarLimitIsNamed(t *testing.T) {
	rep := report(5)
	far, close := 1e6, 0.3
	rep.Trends[0].Limit = &far
	trace := ReadTrace(rep, "excess_resistance_ohm")
	assert.False(t, trace.limitDrawn())
	assert.Less(t, trace.High, 1.0)
	rep.Trends[0].Limit = &close
	trace = ReadTrace(rep, "excess_resistance_ohm")
	assert.True(t, trace.limitDrawn())
}

// A first dive is its own baseline: its picture shows how far off the limit is.
func TestFirstDiveStandsAgainstTheLimit(t *testing.T) {
	rep := report(1)
	none := findings.Estimate{}
	rep.Dives[0].Estimates["excess_resistance_ohm"], rep.Trends[0].Levels[0] = none, none
	trace := ReadTrace(rep, "excess_resistance_ohm")
	assert.True(t, trace.limitDrawn())
	assert.Less(t, trace.Low, 0.0)
	assert.Less(t, trace.High, 0.4)
	delete(rep.Dives[0].Estimates, "excess_resistance_ohm")
	rep.Judged = false
	trace = ReadTrace(rep, "excess_resistance_ohm")
	assert.Contains(t, trace.Says, ": a first dive stands at sound, compared with nothing")
}

// A dive without a reading of a quantity has no point: insulation that was read in every fourth dive stood at 62 MΩ in the others.
func TestDivesWithoutAReadingHaveNoPoint(t *testing.T) {
	rep := report(6)
	whole := trend(t, rep, OnPage)
	for d := range rep.Dives {
		rep.Dives[d].Estimates["thrust_factor"] = findings.Estimate{Value: 1, Low: 0.9, High: 1.1}
		if d == 2 || d == 5 {
			delete(rep.Dives[d].Estimates, "excess_resistance_ohm")
		}
	}
	trace := ReadTrace(rep, "excess_resistance_ohm")
	for d, p := range trace.Points {
		assert.Equal(t, d == 2 || d == 5, isUnread(p), "dive %d", d+1)
	}
	assert.False(t, math.IsNaN(trace.Low) || math.IsNaN(trace.High))
	assert.NotContains(t, trace.Says, "compared with nothing")
	p := trend(t, rep, OnPage)
	of := func(p *Picture) (n int) {
		for _, path := range p.Shapes {
			if strings.HasPrefix(path.Class, "measured dot") {
				n += len(path.Path)
			}
		}
		return n
	}
	assert.Equal(t, of(whole)-2, of(p))
	assert.Contains(t, p.Hits[2].Words, ": not read")
	assert.Contains(t, p.Alt, "Newest, "+DiveName(&rep.Dives[4], true)+": ")
}

// A service that does not touch a quantity is not in its picture.
func TestMarksAreThoseOfTheQuantity(t *testing.T) {
	rep := report(6)
	rep.Dives[3].Serviced = []string{"propeller", "joint", "joint"}
	cleared := "4"
	rep.Alarms[0].ClearedDive = &cleared
	rep.Alarms = append(rep.Alarms, findings.Alarm{Quantity: "thrust_factor", RaisedDive: "3"})
	trace := ReadTrace(rep, "excess_resistance_ohm")
	assert.Equal(t, []Mark{{1, true, "alarm, dive 2", "alarm"}, {3, false, "joint serviced, alarm cleared", "serviced"}, {5, false, "joint serviced", "serviced"}}, trace.Marks)
}

// The words above a trend do not cover each other, whatever the dives of an alarm
// and a service.
func TestWordsOfMarksKeepApart(t *testing.T) {
	for _, size := range Sizes {
		for alarm := 1; alarm < 20; alarm += 3 {
			for service := alarm + 1; service < 30; service += 2 {
				rep := report(30)
				rep.Alarms[0].RaisedDive = fmt.Sprint(alarm + 1)
				rep.Dives[29].Serviced, rep.Dives[service].Serviced = nil, []string{"joint"}
				type words struct {
					text           string
					left, right, y float64
				}
				var before []words
				for _, s := range trend(t, rep, size.Layout()).Shapes {
					if s.Text == "" {
						continue
					}
					wide := textWidth(s.Text, textSize)
					w := words{s.Text, s.At.X, s.At.X + wide, s.At.Y}
					switch {
					case strings.HasPrefix(s.Class, "e "):
						w.left, w.right = s.At.X-wide, s.At.X
					case strings.HasPrefix(s.Class, "m "):
						w.left, w.right = s.At.X-wide/2, s.At.X+wide/2
					}
					for _, o := range before {
						assert.False(t, math.Abs(o.y-w.y) < 8 && o.left < w.right && w.left < o.right, "%s: %q covers %q, alarm at %d, service at %d", size.For, w.text, o.text, alarm, service)
					}
					before = append(before, w)
				}
			}
		}
	}
}

// Where who shows an SVG lacks its fonts, each of its words is as wide as it was
// taken to be, and within the picture.
func TestWordsOfAnSVGHaveTheirWidth(t *testing.T) {
	for _, size := range Sizes {
		for name, p := range pictures(t, size.Layout()) {
			var svg bytes.Buffer
			require.NoError(t, size.Draw(Names{Vehicle: "Invented"}, p, &svg, "svg"))
			assert.Equal(t, strings.Count(svg.String(), "<text"), strings.Count(svg.String(), `textLength="`), name)
			svg.Reset()
			require.NoError(t, size.Draw(Names{Vehicle: "水獺"}, p, &svg, "svg"))
			assert.Regexp(t, `<text x="[^>]*>水獺: `, svg.String(), "a width that is not known here is not said")
		}
	}
}

var fontSize = regexp.MustCompile(`font-size:([\d.]+)px`)

// A viewer that has other fonts and does not heed how wide words are said to be
// still shows them within the picture, and none over another: DejaVu Sans is the
// widest that is common.
func TestWordsFitInOtherFonts(t *testing.T) {
	wide, err := opentype.Parse(dejavusans.TTF)
	require.NoError(t, err)
	text := regexp.MustCompile(`<text ([^>]*)>([^<]*)</text>`)
	attribute := func(of, name string) float64 {
		m := regexp.MustCompile(name + `[=:]"?(-?[\d.]+)`).FindStringSubmatch(of)
		require.NotNil(t, m, of)
		x, err := strconv.ParseFloat(m[1], 64)
		require.NoError(t, err)
		return x
	}
	type words struct {
		text           string
		left, right, y float64
	}
	for _, size := range Sizes {
		for name, p := range pictures(t, size.Layout()) {
			var svg bytes.Buffer
			require.NoError(t, size.Draw(Names{Vehicle: "Invented vehicle " + strings.Repeat("W", 43)}, p, &svg, "svg"))
			var before []words
			for _, m := range text.FindAllStringSubmatch(svg.String(), -1) {
				face := font.Face{Font: font.Font{Size: font.Length(attribute(m[1], "font-size"))}, Face: wide}
				w := words{html.UnescapeString(m[2]), attribute(m[1], "\\bx"), 0, attribute(m[1], "\\by")}
				long := face.Width(w.text).Points()
				switch {
				case strings.Contains(m[1], `"end"`):
					w.left -= long
				case strings.Contains(m[1], `"middle"`):
					w.left -= long / 2
				}
				w.right = w.left + long
				assert.True(t, w.left >= 0 && w.right <= size.Width.Points(), "%s for a %s: %q from %.0f to %.0f of %.0f", name, size.For, w.text, w.left, w.right, size.Width.Points())
				for _, b := range before {
					assert.False(t, b.y == w.y && b.left < w.right && w.left < b.right, "%s for a %s: %q and %q", name, size.For, b.text, w.text)
				}
				before = append(before, w)
			}
		}
	}
}

// Words are at least 16 points high on a slide and 7.5 elsewhere.
func TestWordsAreLargeEnough(t *testing.T) {
	for _, size := range Sizes {
		least := 7.5
		if size.For == "slide" {
			least = 16
		}
		for name, p := range pictures(t, size.Layout()) {
			if size.For == "slide" && name == "budget" { // predict draws it for a screen alone
				continue
			}
			var svg bytes.Buffer
			require.NoError(t, size.Draw(Names{Vehicle: "Invented"}, p, &svg, "svg"))
			for _, m := range fontSize.FindAllStringSubmatch(svg.String(), -1) {
				points, err := strconv.ParseFloat(m[1], 64)
				require.NoError(t, err)
				assert.GreaterOrEqual(t, points, least, "%s for a %s", name, size.For)
			}
		}
	}
}

// Of many alarms the newest keeps its words.
func TestNewestAlarmKeepsItsWords(t *testing.T) {
	rep := report(60)
	rep.Alarms = rep.Alarms[:0]
	for d := 3; d < 60; d += 3 {
		rep.Alarms = append(rep.Alarms, findings.Alarm{Quantity: "excess_resistance_ohm", RaisedDive: fmt.Sprint(d)})
	}
	words := ""
	for _, s := range trend(t, rep, OnPage).Shapes {
		words += s.Text + "\n"
	}
	assert.Contains(t, words, "alarm, dive 57")
}

// What tells long names of dives apart stands at either end.
func TestLongDiveNamesAreCutInTheMiddle(t *testing.T) {
	assert.Equal(t, "harbou…ch 12b", ShortName("harbour wall, north stretch 12b"))
	assert.Equal(t, "dive 12", ShortName("dive 12"))
}
