package plotting

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/vehicle"
)

// craft is an invented vehicle of two thrusters and a tube.
func craft() *vehicle.Vehicle {
	return &vehicle.Vehicle{Name: "Invented", Battery: vehicle.Battery{FuseA: 10}, Tether: vehicle.Tether{LengthM: 20}, Joints: []vehicle.Joint{{Name: "splice", AtM: 10}},
		Tubes: []vehicle.Tube{{Name: "pod"}}, Thrusters: []vehicle.Thruster{{Name: "port"}, {Name: "starboard"}}}
}

// judged is a report of one trend of each cause of craft's, each with its level's
// share of the way to the limit; those beyond it are findings.
func judged(t *testing.T, shares map[string]float64) *findings.Report {
	t.Helper()
	v := craft()
	rep := &findings.Report{Vehicle: v.Name, Judged: true}
	table := causes.Table(v)
	for i := range table {
		c := &table[i]
		share, ok := shares[c.Name]
		if !ok {
			continue
		}
		limit, sound := 2.0, 1.0
		level := sound + share
		e := findings.Estimate{Value: level, Low: level - 0.1, High: level + 0.1}
		rep.Trends = append(rep.Trends, findings.Trend{Quantity: c.Quantity, State: findings.Sound, Level: e, Limit: &limit, Baseline: sound, Cause: c})
		if share > 1 {
			rep.Trends[len(rep.Trends)-1].State = findings.Drifting
			rep.Findings = append(rep.Findings, findings.Finding{Fault: c.Name, Probability: 0.9, Cause: c})
		}
	}
	require.Len(t, rep.Trends, len(shares))
	return rep
}

// Each cause is drawn on the part that it is of, and the farthest gone of a
// part's speaks for it.
func TestCausesAreDrawnOnTheirParts(t *testing.T) {
	d := DrawVehicle(craft(), judged(t, map[string]float64{"power_loop": 0.1, "ingress": 0.2, "battery": 0.3, "branch:starboard": 0.5,
		"friction": 0.6, "friction:port": 1.2, "instrument:current_a": 1.3}), OnPage)
	labels := map[string]string{}
	for i := range d.Parts {
		labels[d.Parts[i].Name] = d.Parts[i].Label
	}
	assert.Equal(t, map[string]string{"battery": "battery 30 %", "fuse": "fuse", "tether": "tether, joints 10 %", "tube:pod": "pod 20 %", "box": "box",
		"branch:port": "", "branch:starboard": "50 %", "thruster:port": "port 120 % ▲", "thruster:starboard": "starboard 60 %", "frame": "frame, drag"}, labels)
	assert.Equal(t, []string{"gain of the clamp meter"}, d.Notes)
	bare := craft()
	bare.Battery.FuseA = 0
	unjudged := DrawVehicle(bare, &findings.Report{Baseline: 5}, OnPage)
	assert.Equal(t, "no fuse", unjudged.Parts[1].Label)
	assert.Less(t, unjudged.Parts[1].LabelX+textWidth(unjudged.Parts[1].Label, textSize), unjudged.Parts[0].X, "short of the battery")
	assert.Contains(t, unjudged.Picture().Says, "not yet judged", "empty parts are not sound ones")
	assert.Equal(t, []float64{(tetherLeft + tetherRight) / 2}, d.Joints)
	assert.Contains(t, d.Parts[len(d.Parts)-2].Says()+d.Parts[len(d.Parts)-3].Says(), "friction, sound, 60 % of the way to its limit")
}

// What is of either of two thrusters is marked on both.
func TestFoundOnEither(t *testing.T) {
	rep := &findings.Report{Findings: []findings.Finding{{Probability: 0.5, Cause: &causes.Cause{Name: "stall:port"}, Either: []findings.Alternative{{Fault: "stall:port", Probability: 0.5}, {Fault: "stall:starboard", Probability: 0.5}}}}}
	found := map[string]bool{}
	for _, p := range DrawVehicle(craft(), rep, OnPage).Parts {
		found[p.Name] = p.Found
	}
	assert.True(t, found["thruster:port"] && found["thruster:starboard"], "%v", found)
	assert.False(t, found["thruster:vertical"], "%v", found)
}

// What the readings leave open is marked, and what is not judged is not filled.
func TestDoubtIsDrawn(t *testing.T) {
	rep := judged(t, map[string]float64{"battery": 0.3})
	rep.Trends[0].State = findings.CannotTell
	p := DrawVehicle(craft(), rep, OnPage).Parts[0]
	assert.Equal(t, "battery ?", p.Label)
	to, from, until := p.Fill()
	assert.InDeltaSlice(t, []float64{0.3, 0.2, 0.4}, []float64{to, from, until}, 1e-9)
	rep.Judged = false
	p = DrawVehicle(craft(), rep, OnPage).Parts[0]
	to, _, until = p.Fill()
	assert.Zero(t, to+until)
	assert.Empty(t, p.Says())
}

// No part overlaps another, whatever the vehicle has.
func TestPartsStandApart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := craft()
		v.Thrusters = make([]vehicle.Thruster, rapid.IntRange(1, 8).Draw(t, "thrusters"))
		v.Tubes = make([]vehicle.Tube, rapid.IntRange(0, 9).Draw(t, "tubes"))
		d := DrawVehicle(v, &findings.Report{}, OnPage)
		for i, p := range d.Parts {
			assert.LessOrEqual(t, p.X+p.Width, drawingWide)
			assert.LessOrEqual(t, p.Y+p.High, d.High)
			for _, q := range d.Parts[:i] {
				apart := p.X >= q.X+q.Width || q.X >= p.X+p.Width || p.Y >= q.Y+q.High || q.Y >= p.Y+p.High
				assert.True(t, apart, "%s on %s", p.Name, q.Name)
			}
		}
	})
}

// Where a picture is too low for all parts, words stay large: one part stands for
// the tubes, one for the thrusters that have gone least far.
func TestPartsFold(t *testing.T) {
	least := map[string]float64{"slide": 16, "screen": 13, "print": 9.5, "phone": 8}
	for thrusters := 1; thrusters <= 16; thrusters++ {
		for tubes := range 9 {
			v := craft()
			v.Tubes = make([]vehicle.Tube, tubes)
			for i := 2; i < thrusters; i++ {
				v.Thrusters = append(v.Thrusters, vehicle.Thruster{Name: fmt.Sprint("t", i)})
			}
			v.Thrusters = v.Thrusters[:thrusters]
			rep := &findings.Report{}
			for range (thrusters + tubes) % 6 { // that are no part of the vehicle
				rep.Findings = append(rep.Findings, findings.Finding{Probability: 0.9, Cause: &causes.Cause{Kind: causes.Instrument, Words: "gain of the clamp meter, which is read on every dive"}})
			}
			for _, size := range Sizes {
				var svg bytes.Buffer
				require.NoError(t, size.Draw(Names{Vehicle: "Invented"}, DrawVehicle(v, rep, size.Layout()).Picture(), &svg, "svg"))
				for _, m := range fontSize.FindAllStringSubmatch(svg.String(), -1) {
					points, err := strconv.ParseFloat(m[1], 64)
					require.NoError(t, err)
					require.GreaterOrEqual(t, points, least[size.For], "%d thrusters, %d tubes for a %s", thrusters, tubes, size.For)
				}
			}
		}
	}
	v := craft()
	v.Tubes = make([]vehicle.Tube, 4)
	for _, name := range []string{"up", "down", "bow", "stern"} {
		v.Thrusters = append(v.Thrusters, vehicle.Thruster{Name: name})
	}
	rep := &findings.Report{Judged: true}
	table, limit := causes.Table(v), 1.0
	share := map[string]float64{"friction:starboard": 0.1, "branch:bow": 0.3, "friction:up": 0.2, "ingress": 0.5}
	for i := range table {
		if c := &table[i]; share[c.Name] > 0 {
			rep.Trends = append(rep.Trends, findings.Trend{Quantity: c.Quantity, State: findings.Sound, Level: findings.Estimate{Value: share[c.Name], Low: share[c.Name], High: share[c.Name]}, Limit: &limit, Cause: c})
		}
	}
	labels := func(room Layout) (out []string) {
		for _, p := range DrawVehicle(v, rep, room).Parts {
			if kind, _, _ := strings.Cut(p.Name, ":"); kind == "tube" || kind == "thruster" || kind == "branch" {
				out = append(out, p.Label)
			}
		}
		return out
	}
	slide, err := SizeFor("slide")
	require.NoError(t, err)
	assert.Equal(t, []string{"4 tubes 50 %", "", "up 20 %", "30 %", "bow", "", "4 more 10 %"}, labels(slide.Layout()))
	assert.Len(t, labels(OnPage), 4+2*6, "a page is as high as it needs")
	assert.Contains(t, DrawVehicle(v, rep, slide.Layout()).Picture().Says, "several in one: the farthest")
	rep.Findings = []findings.Finding{{Probability: 0.9, Cause: &causes.Cause{Name: "stall:stern"}}}
	assert.Contains(t, labels(slide.Layout()), "stern ▲", "what was found is not folded")
}

func TestFitCutsTheMiddle(t *testing.T) {
	assert.Equal(t, "dive 3", Fit("dive 3", 12, 100))
	got := Fit("first "+strings.Repeat("very ", 30)+"last", 12, 100)
	assert.Regexp(t, `^first .*….*last$`, got)
	assert.LessOrEqual(t, textWidth(got, 12), 100.0)
}

// Dives whose labels differ at the end alone are told apart under the grid, and the axis' title stays clear of them.
func TestGridTellsDivesApart(t *testing.T) {
	assert.Equal(t, "12", fitEnd("12", textSize, 28))
	assert.Equal(t, "…12", fitEnd("pool 12", textSize, 28))
	rep, g := &findings.Report{}, &Grid{Dives: 20, Rows: []GridRow{{Name: "current", Cells: make([]GridCell, 20)}}}
	for i := range 20 {
		rep.Dives = append(rep.Dives, findings.Dive{Dive: fmt.Sprintf("pool %d", i+100)})
	}
	p := GridPicture(rep, g, true, Layout{Width: 400})
	seen := map[string]bool{}
	var title, first *Shape
	for i := range p.Shapes {
		switch x := &p.Shapes[i]; {
		case x.Text == "dive":
			title = x
		case strings.HasPrefix(x.Text, "…"):
			assert.False(t, seen[x.Text], x.Text)
			seen[x.Text] = true
			if first == nil {
				first = x
			}
		}
	}
	assert.Greater(t, len(seen), 3)
	assert.Less(t, title.At.X+textWidth("dive", textSize), first.At.X-textWidth(first.Text, textSize)/2)
}

// A gauge whose readings leave both open is hatched.
func TestCannotTellIsHatched(t *testing.T) {
	g := Gauge{Title: "friction", State: findings.CannotTell, Low: -0.5, High: 0.9}
	class := func(p *Picture) string { return p.Shapes[2].Class }
	assert.Equal(t, "measured", class(g.Picture()))
	g.State = findings.Sound
	assert.Equal(t, "measured full", class(g.Picture()))
}

// A level that the readings leave open is an outline, not a band.
func TestCannotTellIsAnOutline(t *testing.T) {
	rep := report(5)
	rep.Trends[0].State = findings.CannotTell
	p := trend(t, rep, OnPage)
	assert.Equal(t, "measured dashed", p.Shapes[0].Class)
	rep.Trends[0].State = findings.Sound
	assert.Equal(t, "band full", trend(t, rep, OnPage).Shapes[0].Class)
}

func TestWhatAHitSaysFits(t *testing.T) {
	for _, words := range []string{"", "dive 3: 5 g", strings.Repeat("many words ", 30), strings.Repeat("W", 20) + " " + strings.Repeat("i", 40)} {
		lines := Hit{Words: words}.Lines()
		assert.LessOrEqual(t, len(lines), 2)
		for _, l := range lines {
			assert.LessOrEqual(t, textWidth(l.Words, textSize), OnPage.Width)
		}
	}
}

// Every dive can be pointed at.
func TestEveryDiveCanBeTapped(t *testing.T) {
	for _, n := range []int{30, 120} {
		x := make([]float64, n)
		for i := range x {
			x[i] = 40 + 226*float64(i)/float64(n-1)
		}
		var p Picture
		p.hits(x, 40, 266, 100, func(int) (Path, string) { return nil, "" })
		assert.Len(t, p.Hits, n)
	}
}
