package locate

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"sagline/predict"
	"sagline/predict/drift"
	"sagline/predict/fit"
	"sagline/predict/vehicle"
	"sagline/session/problem"
	"sagline/session/quantity"
)

// A Spot is where the fault may be: a part of the chain in one leg. The last
// of a search stands for all that is not in it.
type Spot struct {
	Name        string  `json:"spot"`
	Part        string  `json:"part"`
	Leg         string  `json:"leg,omitempty"` // "+" or "-"
	FromM       float64 `json:"from_m"`        // from the battery's end of the tether
	ToM         float64 `json:"to_m"`
	Probability float64 `json:"probability"`

	at int // its part, −1 for none
}

// Elsewhere is the name of the last spot.
const Elsewhere = "none of these"

// A Search is the state of one search.
type Search struct {
	Fault   string // as in drift.Finding
	since   string // dive since which it is found, "" where nothing is
	taken   []Taken
	tests   []*Test // all that could be made, likely or not
	v       *vehicle.Vehicle
	parts   []part
	spots   []Spot
	hyps    []hypothesis
	sound   []ohms                  // of each part in one leg
	usual   circumstances           // that a reading is made in unless it says otherwise
	leakLn  float64                 // ln of the sound insulation in MΩ
	amps    func(r float64) float64 // of the thruster of a branch alone, with excess resistance r there
	load    string                  // thrusters that give the current
	alone   string                  // the thruster of a branch search
	skipped []string
	without []string // instruments that are not at hand
}

// A Taken is a reading that counts.
type Taken struct {
	Test    string `json:"test"`
	Reading string `json:"reading"`
}

// A hypothesis is a spot, and what is then known of the fault's size and of the
// chain's sound resistances, which all readings share: a state that is normally
// distributed, its mean at first 0 but for the size.
type hypothesis struct {
	spot   int
	weight float64 // probability
	state  []float64
	cov    [][]float64
}

// What a state holds; from ofContact on, for each spot, the ohms by which its
// contact differs from the mean of all.
const (
	ofSize   = iota
	ofCopper // share by which copper has more than its label says
	ofContact
)

// A size is one that a fault may have.
type size struct{ mean, sd, weight float64 }

// ohms is a resistance: of copper at 20 °C, and of contacts.
type ohms struct{ copper, contacts float64 }

// Sizes of a fault whose size is not known, by factors of three: each stands for
// those around it. Common practice, no source.
var unknownSizes = map[string][]float64{"Ω": {0.05, 0.15, 0.5, 1.5}, "ln": {-2, -4, -6.5}, "kPa": {1.5, 4, 12}}

// Shares of probability, all common practice, no source.
const (
	nothingShare = 0.5  // that nothing is wrong, where nothing was found
	leastNowhere = 0.02 // that a finding lies outside the chain
	sizeSD       = 0.45 // of an unknown size, as a share
	todaySD      = 0.25 // by which a found size may be another today, as a share
	contactsSD   = 1.0  // by which one contact differs from the mean of all, as a share
	lengthsSD    = 0.03 // by which copper is not what its label says, as a share
)

// Searchable are the faults that can be searched for, in the vehicle's words.
func Searchable(v *vehicle.Vehicle) []string {
	out := []string{"power_loop", "intermittent_contact", "insulation"}
	if len(tubeChain(v)) > 0 {
		out = append(out, "ingress")
	}
	for i := range v.Thrusters {
		out = append(out, "branch:"+v.Thrusters[i].Name)
	}
	return out
}

// Begin starts a search for a fault, "" for the likeliest that was found, or
// for the worst spot of the power loop where nothing was. without are the
// Instruments that are not at hand.
func Begin(r *fit.Result, rep *drift.Report, fault string, without []string) (*Search, error) {
	v := r.Model.Vehicle
	known := Searchable(v)
	found := slices.IndexFunc(rep.Findings, func(f drift.Finding) bool { return f.Fault == fault || fault == "" && slices.Contains(known, f.Fault) })
	switch {
	case fault == "" && found >= 0:
		fault = rep.Findings[found].Fault
	case fault == "":
		fault = known[0]
	case !slices.Contains(known, fault):
		return nil, fmt.Errorf("found %s, want one of %s%s", problem.Quote(fault), strings.Join(known, ", "), problem.Suggest(fault, known))
	}
	s := &Search{Fault: fault, v: v, without: without}
	unit := s.chain(r)
	s.expectCurrents(r, rep)
	if found >= 0 {
		f := &rep.Findings[found]
		s.since = f.SinceDive
		s.believe(f.Probability, s.foundSize(rep, f, unit))
	} else {
		s.believe(1-nothingShare, unknown(unit))
	}
	s.tests = s.allTests()
	return s, nil
}

// chain lays out the parts of the fault's chain, and says what its sizes are in.
func (s *Search) chain(r *fit.Result) (unit string) {
	v, joints := s.v, math.Max(s.v.Tether.Power.JointsOhm+r.Base[predict.LoopOhm], 0)
	name, branch := strings.CutPrefix(s.Fault, "branch:")
	s.leakLn = r.SoundOf(predict.LogInsulation)
	switch {
	case branch:
		s.alone, s.parts = name, branchChain(v, name)
		i := slices.IndexFunc(v.Thrusters, func(t vehicle.Thruster) bool { return t.Name == name })
		joints, unit = v.Thrusters[i].BranchOhm, "Ω"
	case s.Fault == "ingress":
		s.parts, unit = tubeChain(v), "kPa"
	case s.Fault == "insulation":
		s.parts, unit = slices.DeleteFunc(powerChain(v), func(p part) bool { return !p.wet }), "ln"
	default:
		s.parts, unit = powerChain(v), "Ω"
	}
	if s.Fault == "intermittent_contact" { // moving a part moves both its legs
		unit = ""
		for i := range s.parts {
			s.parts[i].legs = []string{""}
		}
	}
	s.layOut(joints)
	return unit
}

// layOut makes spots of the parts and shares the contacts' sound resistance.
func (s *Search) layOut(joints float64) {
	contacts := 0
	for i := range s.parts {
		p := &s.parts[i]
		if !p.wire() {
			contacts += len(p.legs)
		}
		for _, leg := range p.legs {
			name := p.name
			if leg != "" && len(p.legs) > 1 {
				name += ", " + leg + " leg"
			}
			s.spots = append(s.spots, Spot{Name: name, Part: p.name, Leg: leg, FromM: p.from, ToM: p.to, at: i})
		}
	}
	s.spots = append(s.spots, Spot{Name: Elsewhere, Part: Elsewhere, at: -1})
	for i := range s.parts {
		p, power := &s.parts[i], &s.v.Tether.Power
		one := ohms{contacts: joints / float64(max(contacts, 1))}
		if p.wire() {
			one = ohms{copper: (p.to - p.from) * power.OhmPerMetre(20) / float64(max(power.Parallel, 1))}
		}
		s.sound = append(s.sound, one)
	}
}

// believe spreads probability p over the parts by their weights, and the rest
// on none of them, each with the fault's possible sizes.
func (s *Search) believe(p float64, sizes []size) {
	p = min(p, 1-leastNowhere)
	last, total := len(s.spots)-1, 0.0
	weigh := func(i int) float64 {
		k := &s.parts[s.spots[i].at]
		return (k.kind.weight + k.kind.perM*(k.to-k.from)) / float64(len(k.legs))
	}
	for i := range last {
		total += weigh(i)
	}
	for i := range last {
		for _, z := range sizes {
			s.hyps = append(s.hyps, s.hypothesis(i, p*weigh(i)/total*z.weight, z))
		}
	}
	s.hyps = append(s.hyps, s.hypothesis(last, 1-p, size{}))
	s.tally()
}

func (s *Search) hypothesis(spot int, weight float64, z size) hypothesis {
	n := ofContact + len(s.spots) - 1
	h := hypothesis{spot: spot, weight: weight, state: make([]float64, n), cov: make([][]float64, n)}
	for i := range h.cov {
		h.cov[i] = make([]float64, n)
		if i >= ofContact {
			sd := contactsSD * s.sound[s.spots[i-ofContact].at].contacts
			h.cov[i][i] = sd * sd
		}
	}
	h.state[ofSize], h.cov[ofSize][ofSize], h.cov[ofCopper][ofCopper] = z.mean, z.sd*z.sd, lengthsSD*lengthsSD
	return h
}

// tally adds the hypotheses' weights up to the spots' probabilities.
func (s *Search) tally() {
	for i := range s.spots {
		s.spots[i].Probability = 0
	}
	for i := range s.hyps {
		s.spots[s.hyps[i].spot].Probability += s.hyps[i].weight
	}
}

// unknown are the sizes that a fault of a unit may have.
func unknown(unit string) (out []size) {
	all := unknownSizes[unit]
	if unit == "" {
		return []size{{weight: 1}}
	}
	for _, x := range all {
		out = append(out, size{x, sizeSD * x, 1 / float64(len(all))})
	}
	return out
}

// foundSize is the size that a finding's trend has today.
func (s *Search) foundSize(rep *drift.Report, f *drift.Finding, unit string) []size {
	at := slices.IndexFunc(rep.Trends, func(t drift.Trend) bool { return t.Quantity == f.Cause.Quantity })
	if at < 0 || unit != "Ω" && unit != "ln" {
		return unknown(unit)
	}
	l := rep.Trends[at].Level
	sd := (l.High - l.Low) / 4
	if unit == "ln" {
		return []size{{math.Log(l.Value) - s.leakLn, 1, 1}}
	}
	return []size{{l.Value, math.Hypot(sd, todaySD*l.Value), 1}}
}

// expectCurrents solves for the currents that the methods use: all surge
// thrusters held, and the branch's thruster alone.
func (s *Search) expectCurrents(r *fit.Result, rep *drift.Report) {
	p := drift.Present(r, rep)
	solve := func(sign []int8, p predict.Params) float64 {
		var pt predict.Point
		r.Model.Solve(&predict.Condition{Sign: sign, Electrical: true, Held: true, WaterC: usualC, TetherOutM: s.v.Tether.LengthM}, p, &pt, nil)
		return pt.Out[quantity.CurrentA]
	}
	sign := make([]int8, len(s.v.Thrusters))
	for i := range sign {
		if t := &s.v.Thrusters[i]; t.Name == s.alone || s.alone == "" && t.Surge() {
			sign[i] = 1
		}
	}
	if !slices.Contains(sign, 1) {
		sign[0] = 1
	}
	s.load, s.usual = s.v.DrivesName(sign), s.asUsual(math.Max(solve(sign, p), leastAmps))
	s.amps = func(excess float64) float64 {
		q := slices.Clone(p)
		q[predict.OfThruster(slices.Index(sign, 1), predict.BranchOhm)] = r.Base[predict.OfThruster(slices.Index(sign, 1), predict.BranchOhm)] + excess
		return solve(sign, q)
	}
}

// Spots are those of the search, likeliest first.
func (s *Search) Spots() []Spot {
	out := slices.Clone(s.spots)
	slices.SortStableFunc(out, func(a, b Spot) int { return cmp.Compare(b.Probability, a.Probability) })
	return out
}
