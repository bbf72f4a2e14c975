package advice

import (
	"fmt"
	"math"
	"strings"

	"sagline/session/units"
)

// A Line is a margin in words.
type Line struct {
	Name   string
	Judged bool // false: only stated, neither met nor not met
	Met    bool
	Text   string
}

// String returns the line as it is printed.
func (l Line) String() string {
	switch {
	case !l.Judged:
		return l.Name + ": " + l.Text
	case l.Met:
		return l.Name + ": met; " + l.Text
	}
	return l.Name + ": NOT MET; " + l.Text
}

// Lines words the margins, in the order of their danger.
func (m *Margins) Lines(u units.System) []Line {
	power := func(area *float64) string {
		return better(area, func(a float64) string { return sizeName(SoldIn(&m.power, u), a, m.power.Parallel) })
	}
	signal := func(area *float64) string {
		return better(area, func(a float64) string { return sizeName(SoldIn(&m.signal, u), a, m.signal.Parallel) })
	}
	out := []Line{{"fuse", true, m.Fuse.Met(), m.fuseWords(u, power(m.Fuse.BetterOf))}, {"heating", true, m.Heating.Met(), m.Heating.words(power(m.Heating.BetterOf))}}
	if r := m.Motors; r != nil {
		text := fmt.Sprintf("one may get %.1f V, tested at %.3g V", r.V, r.TestedV)
		if !r.Met() {
			text += fmt.Sprintf(", and %.3g times that is what is taken to be borne: a battery of fewer volts, or a motor that is made for these", overTest)
		}
		out = append(out, Line{"motors", true, r.Met(), text})
	}
	out = append(out, m.jammedLines(u)...)
	if m.Signal != nil {
		out = append(out, m.Signal.lines()...)
	}
	if m.insulation != nil {
		out = append(out, *m.insulation)
	}
	for i := range m.Tubes {
		out = append(out, m.Tubes[i].Line(u))
	}
	if r := m.Relay; r != nil {
		text := fmt.Sprintf("coils get %.1f V under load with all on, pull-in wants %.1f V cold and %.1f V hot%s", r.CoilV, r.PullInV, r.HotV,
			remedy(r.PullsIn(), signal(r.BetterOf), "signal conductors of %s would do", "fewer on at a time, or coils of more ohms"))
		if !r.Bears() {
			text += fmt.Sprintf("; one alone gets up to %.1f V, rated for %.3g V, and %.3g times that is what is taken to be borne: coils for the battery's volts", r.MostV, r.RatedV, overCoil)
		}
		out = append(out, Line{"relays", true, r.Met(), text})
	}
	if b := m.Battery; b != nil {
		from, first := "a full battery", ""
		if b.BegunV > 0 {
			from = fmt.Sprintf("a battery that rests at %.2f V, as dives begin with", b.BegunV)
		}
		if b.Spent {
			first = "charge it first, or "
		}
		out = append(out, Line{"battery", true, b.Met(), fmt.Sprintf("%.2f V under the heaviest run from %s, it may not fall below %.2f V%s", b.V, from, b.MinimumV,
			remedy(b.Met(), better(b.Better, func(ohm float64) string { return fmt.Sprintf("%.2g Ω", ohm) }), first+"a battery of at most %s, leads in it, would do", first+"run less at a time")) + m.onAGuess()})
	}
	if c := m.Camera; c != nil {
		first := m.measureFirst()
		if first != "" {
			first += "; as it is "
		}
		out = append(out, Line{"camera", true, c.Met(), fmt.Sprintf("the supply at the vehicle falls to %.1f V, it wants %.1f V or the picture goes dark%s", c.V, c.MinimumV,
			remedy(c.Met(), power(c.Better), first+"its own supply, or power conductors of %s, would do", first+"its own supply would do"))})
	}
	if l := m.Lights; l != nil {
		out = append(out, Line{"lights", l.MinimumV > 0, l.Met(), fmt.Sprintf("their signal conductor leaves them %.1f V%s", l.V,
			remedy(l.Met(), signal(l.Better), "conductors of %s would do", "feed them from the power pair"))})
	}
	if e := m.Endurance; e != nil {
		out = append(out, Line{Name: "endurance", Text: fmt.Sprintf("about %.0f min (%.0f to %.0f) of the heaviest run, all on at once, from a full battery in good health", e.Value, e.Low, e.High)})
	}
	return out
}

// likely words what the heaviest run likely draws if it may draw more than a quarter more; common
// practice, no source.
func (f *Fuse) likely() string {
	if f.HeavyA <= 1.25*f.LikelyA {
		return ""
	}
	return fmt.Sprintf(" (%.1f A likely: read one thruster's amperes in a tub, which narrows this most)", f.LikelyA)
}

// better words what would meet a margin, "" if nothing does.
func better(x *float64, words func(float64) string) string {
	if x == nil {
		return ""
	}
	return words(*x)
}

// remedy words what would meet a margin that is not met: with a better part if there is one, else
// without it.
func remedy(met bool, better, with, without string) string {
	switch {
	case met:
		return ""
	case better == "":
		return "; " + without
	}
	return "; " + fmt.Sprintf(with, better)
}

// measureFirst words what to do before buying another cable if the loop has more resistance than
// the file says; else it is "".
func (m *Margins) measureFirst() string {
	if m.beyondOhm == 0 {
		return ""
	}
	return fmt.Sprintf("by the log the loop has about %s Ω more than by the file: first measure it (battery unplugged, far end shorted, the short taken off again), for that may be in joints", units.Digits(m.beyondOhm, 1))
}

// onAGuess says that a margin rests on a guess of the battery's resistance; "" if it does not.
func (m *Margins) onAGuess() string {
	if m.guessed == nil {
		return ""
	}
	d := func(x float64) string { return units.Digits(x, 2) }
	return fmt.Sprintf("; on a guess of the battery's resistance by its label, %s Ω (%s to %s): volts at rest less volts under load, by the amperes, tell it", d(m.guessed.Value), d(m.guessed.Low), d(m.guessed.High))
}

func (m *Margins) fuseWords(u units.System, thicker string) string {
	words := m.Fuse.words(u, m.measureFirst(), thicker)
	if m.Battery == nil || m.Fuse.RatingA > 0 && !m.Fuse.Blows() { // otherwise the battery's margin says it
		words += m.onAGuess()
	}
	return words
}

func (f *Fuse) words(u units.System, measure, thicker string) string {
	var parts []string
	digits := 0
	if f.ShortA.Low < 10 {
		digits = 1
	}
	short := fmt.Sprintf("a dead short at the vehicle end draws %.*f A (%.*f to %.*f)", digits, f.ShortA.Value, digits, f.ShortA.Low, digits, f.ShortA.High)
	switch {
	case f.RatingA == 0:
		parts = append(parts, "none stated; "+short+": fuse at the battery")
	case f.Blows():
		parts = append(parts, fmt.Sprintf("%s, at the least of which the %g A fuse opens within %s", short, f.RatingA, seconds(f.FuseS)))
	default:
		words := fmt.Sprintf("%s, at the least of which the %g A fuse ", short, f.RatingA)
		if math.IsInf(f.FuseS, 1) {
			words += "need not open at all"
		} else {
			words += "may take " + seconds(f.FuseS)
		}
		if f.CableFirst() {
			wound := ""
			if f.Density <= openDensity {
				wound = "wound on its reel "
			}
			words += fmt.Sprintf(": %sthe tether would heat instead, to %s in %s were no heat lost", wound, u.Plain(meltingC, "°C"), seconds(f.CableS))
		}
		parts = append(parts, words)
	}
	if f.RatingA > 0 && !f.Carries() {
		parts = append(parts, fmt.Sprintf("the heaviest run may draw %.1f A%s, which it need not carry", f.HeavyA, f.likely()))
	}
	if f.RatingA > 0 && !f.Protects() {
		parts = append(parts, fmt.Sprintf("the conductors bear %s A for long, less than it lets pass", units.Digits(f.BearsA, 2)))
	}
	if !f.Met() {
		parts = append(parts, f.remedy(u, measure, thicker))
	}
	return strings.Join(parts, "; ")
}

// remedy names what would meet the margin: another fuse, the joints re-made, thicker conductors or
// a shorter tether with a fuse, or a fuse for fewer thrusters at a time.
func (f *Fuse) remedy(u units.System, measure, thicker string) string {
	switch {
	case f.BetterA == nil && measure != "":
		words := measure
		if f.MendedA != nil {
			words += fmt.Sprintf("; with the loop as in the file a fuse of %g A meets the margin", *f.MendedA)
		}
		return words + "; as it is " + f.remedy(u, "", thicker)
	case f.BetterA != nil:
		return fmt.Sprintf("one of %g A opens at once, carries the heaviest run, %.1f A%s, and guards the conductors", *f.BetterA, f.HeavyA, f.over(*f.BetterA))
	}
	likely := ""
	if f.RatingA == 0 || f.Carries() { // else it is said already
		likely = f.likely()
	}
	none := fmt.Sprintf("no standard fuse opens at once on that, carries the heaviest run, %.1f A%s, and guards the conductors: ", f.HeavyA, likely)
	var ways []string
	if f.BetterOf != nil {
		ways = append(ways, fmt.Sprintf("with conductors of %s one of %g A does", thicker, *f.ThenA))
	}
	if f.ShorterM != nil {
		ways = append(ways, fmt.Sprintf("with a tether of %s one of %g A does", u.Plain(*f.ShorterM, "m"), *f.OnShorterA))
	}
	if f.LessA != nil {
		ways = append(ways, fmt.Sprintf("as it is one of %g A does where no more than %s A run at a time", *f.LessA, units.Digits(f.AtATimeA(), 3)))
	}
	if len(ways) == 0 {
		ways = append(ways, "fewer thrusters at a time or such as draw less, or readings that narrow these ranges: the loop's ohms, one thruster's amperes")
	}
	return none + strings.Join(ways, "; ")
}

// over explains how a fuse carries more than its rating; "" if the heaviest run is within it.
func (f *Fuse) over(rating float64) string {
	if f.HeavyA <= rating {
		return ""
	}
	return fmt.Sprintf(" (for long it carries %g times its rating)", overload)
}

func (h *Heating) words(thicker string) string {
	carry := fmt.Sprintf("the power conductors carry %.1f A/mm² (%.1f to %.1f) at the heaviest run", h.Density.Value, h.Density.Low, h.Density.High)
	if !h.Met() && h.Density.Value <= openDensity || h.Met() && !h.OnReel() && h.Density.Value <= reelDensity {
		carry = fmt.Sprintf("the power conductors likely carry %.1f A/mm² at the heaviest run, and may carry %.1f", h.Density.Value, h.Density.High)
	}
	if h.ThinMM2 > 0 {
		carry += fmt.Sprintf(" (the most if the loop's resistance beyond the file's is a cable of %.2g mm² a leg: read its jacket)", h.ThinMM2)
	}
	switch {
	case !h.Met() && h.BetterOf != nil:
		return fmt.Sprintf("%s, above %.0f A/mm² they get hot even paid out: run short, or conductors of %s", carry, openDensity, thicker)
	case !h.Met():
		return fmt.Sprintf("%s, above %.0f A/mm² they get hot even paid out: run short, and less at a time", carry, openDensity)
	case !h.OnReel():
		return fmt.Sprintf("%s: pay all of it out; wound on a reel they get hot above %.0f A/mm²", carry, reelDensity)
	}
	return carry + ", on a reel too"
}

// jammedLines words the jams, with thrusters of the same text on one line.
func (m *Margins) jammedLines(u units.System) (out []Line) {
	for i := range m.Jammed {
		text := m.Jammed[i].words(u, m.Fuse.RatingA)
		if n := len(out); n > 0 && out[n-1].Text == text {
			out[n-1].Name += " or " + m.Jammed[i].Thruster
			continue
		}
		out = append(out, Line{Name: "jammed " + m.Jammed[i].Thruster, Text: text})
	}
	return out
}

func (j *Jam) words(u units.System, fuseA float64) string {
	fuse := "no fuse is stated"
	switch {
	case j.FuseBlows:
		fuse = fmt.Sprintf("the %g A fuse opens in time", fuseA)
	case fuseA > 0:
		fuse = fmt.Sprintf("the %g A fuse does not see it in time", fuseA)
	}
	return fmt.Sprintf("alone it draws up to %.1f A, %s; %.0f W heat its winding, which has about %s to %s (copper guessed from the motor's watts, no heat lost): current and no thrust, switch off at once",
		j.CurrentA, fuse, j.WindingW, seconds(j.Seconds), u.Plain(spoiltC, "°C"))
}

// Fresh words a salinity: that it is fresh water and, if nobody stated it, that it is assumed,
// beside the newest dive's. It is "" for salt water that was asked for.
func Fresh(psu float64, assumed bool, newestPSU float64) string {
	var words []string
	if psu == 0 {
		words = append(words, "fresh")
	}
	if assumed {
		words = append(words, "assumed")
	}
	if assumed && newestPSU != psu {
		words = append(words, fmt.Sprintf("the newest dive's was %g", newestPSU))
	}
	if len(words) == 0 {
		return ""
	}
	return " (" + strings.Join(words, ", ") + ")"
}

// Line words a tube's depth.
func (t *TubeDepth) Line(u units.System) Line {
	water := "fresh water"
	if t.Sea {
		water = "sea water"
	}
	text := fmt.Sprintf("its guide is %s in %s by elastic collapse and yield with a factor of %g; caps, dents and age make it less", u.In("m").Down(t.DeepestM, 1), water, collapseSafety)
	if t.DepthM == 0 {
		return Line{Name: "tube " + t.Name, Text: "no depth planned or logged; " + text}
	}
	return Line{"tube " + t.Name, true, t.Met(), u.Plain(t.DepthM, "m") + " planned or logged, " + text}
}

// seconds formats a time with the two digits that are known of it.
func seconds(s float64) string {
	switch {
	case s < 10:
		return units.Digits(s, 2) + " s"
	case s < 600:
		return fmt.Sprintf("%.0f s", s)
	}
	return fmt.Sprintf("%.0f min", s/60)
}
