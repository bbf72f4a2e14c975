package locate

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"sagline/predict"
	"sagline/predict/audit"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/outlook"
	"sagline/predict/vehicle"
	"sagline/session/problem"
	"sagline/session/quantity"
)

// A Spot is where the fault may be: a part of the chain in one leg. A search's last spot stands for
// all that is not in the chain.
type Spot struct {
	Name        string  `json:"spot"`
	Part        string  `json:"part"`
	Leg         string  `json:"leg,omitempty"` // "+" or "-"
	FromM       float64 `json:"from_m"`        // from the battery's end of the tether
	ToM         float64 `json:"to_m"`
	Probability float64 `json:"probability"`

	*part // nil of the last
}

// A Search is the state of one search.
type Search struct {
	v         *vehicle.Vehicle
	Fault     string // as in findings.Finding
	since     string // dive since which the fault is found, "" if it is not
	suspected bool   // whether the finding is less likely than not
	parts     []part
	spots     []Spot
	tests     []*Test // all that could be made, likely or not
	taken     []Taken
	skipped   []string
	without   []string // instruments that are not at hand
	hyps      []hypothesis

	typical circumstances           // assumed where a reading does not say
	load    string                  // thrusters that give the current
	mind    string                  // warning of a jam before any thruster runs; "" for none
	amps    func(r float64) float64 // current of the first of them with excess resistance r in its branch
	leakLn  float64                 // ln of the sound insulation in MΩ
}

// A Taken is a reading that counts.
type Taken struct {
	Test    string `json:"test"`
	Reading string `json:"reading"`
	Slip    bool   `json:"slip,omitempty"` // no spot explains it
}

// mostlySlip is the probability of a slip from which a reading is called one: common practice, no source.
const mostlySlip = 0.9

// Priors, all common practice, no source.
const (
	nothingShare = 0.5  // probability that nothing is wrong if nothing was found
	spotShare    = 0.8  // probability that a loop with more resistance than its file says has a bad spot, and not another cable
	leastNowhere = 0.02 // probability that a finding lies outside the chain
	sizeSD       = 0.45 // of an unknown size, as a share
	todaySD      = 0.25 // of a found size, which may differ today, as a share
	leakTodaySD  = 1    // the same of a leak, ln(MΩ)
)

// A size is one possible size of a fault, normally distributed.
type size struct{ mean, sd, weight float64 }

// unknownSizes are the sizes tried for a fault of unknown size, by unit: each stands for those
// around it. Common practice, no source.
var unknownSizes = map[string][]float64{"Ω": {0.05, 0.15, 0.5, 1.5}, "ln MΩ": {-2, -4, -6.5}, "kPa": {1.5, 4, 12}, "": {0}}

// A searchable is a fault whose spot can be searched for.
type searchable struct {
	fault string
	unit  string // of its sizes, "" for none
	parts []part
	tests func(s *Search)
}

func searchables(v *vehicle.Vehicle) []searchable {
	wet := slices.DeleteFunc(powerChain(v), func(p part) bool { return !p.wet })
	out := []searchable{{"power_loop", "Ω", powerChain(v), (*Search).loopTests}, {"intermittent_contact", "", movedChain(v), (*Search).movingTests},
		{"insulation", "ln MΩ", wet, (*Search).leakTests}}
	if tubes := tubeChain(v); len(tubes) > 0 {
		out = append(out, searchable{"ingress", "kPa", tubes, (*Search).holdTests})
	}
	for i := range v.Thrusters {
		out = append(out, searchable{branch + v.Thrusters[i].Name, "Ω", branchChain(v, v.Thrusters[i].Name), (*Search).branchTests})
	}
	return out
}

const branch = "branch:"

// Searchable returns the faults whose spot can be searched for.
func Searchable(v *vehicle.Vehicle) (out []string) {
	for _, k := range searchables(v) {
		out = append(out, k.fault)
	}
	return out
}

// Begin starts a search for a fault; "" stands for the likeliest that was found or, if none was,
// for the worst spot of the power loop. without are the Instruments that are not at hand.
func Begin(r *fit.Result, rep *findings.Report, fault string, without []string) (*Search, error) {
	v := r.Model.Vehicle
	known := Searchable(v)
	found := slices.IndexFunc(rep.Findings, func(f findings.Finding) bool {
		return f.Fault == fault || fault == "" && slices.Contains(known, f.Fault)
	})
	if found >= 0 {
		fault = rep.Findings[found].Fault
	}
	at := slices.Index(known, cmp.Or(fault, known[0]))
	if at < 0 {
		return nil, problem.NotOf(fault, known)
	}
	what := searchables(v)[at]
	s := &Search{v: v, Fault: what.fault, parts: what.parts, without: without, leakLn: r.SoundOf(predict.LogInsulation)}
	p, sizes, excess := 1-nothingShare, unknown(what.unit), 0.0
	if found >= 0 {
		f := &rep.Findings[found]
		s.suspected = f.Sure() < findings.LeastReported
		s.since, p, sizes = f.SinceDive, f.Probability, s.foundSizes(rep, f, what.unit)
	} else if what.fault == known[0] {
		if excess, s.since = audit.LoopExcess(r); excess > 0 {
			p, sizes = spotShare, []size{{excess, todaySD * excess, 1}}
		}
	}
	s.layOut(r, excess > 0)
	s.expectCurrents(r, rep)
	s.spread(min(p, 1-leastNowhere), sizes)
	what.tests(s)
	return s, nil
}

// layOut makes spots of the parts and sets the parts' sound resistances. Each contact has an equal
// share of the joints' resistance by the file and the baseline, or if ofFile by the file alone.
func (s *Search) layOut(r *fit.Result, ofFile bool) {
	power, contacts, joints := &s.v.Tether.Power, 0, max(s.v.Tether.Power.JointsOhm+r.Base[predict.LoopOhm], 0)
	if ofFile {
		joints = power.JointsOhm
	}
	for i := range s.v.Thrusters {
		if s.Fault == branch+s.v.Thrusters[i].Name {
			joints = s.v.Thrusters[i].BranchOhm
		}
	}
	for _, p := range s.parts {
		if !p.wire() {
			contacts += len(p.legs)
		}
	}
	for i := range s.parts {
		p := &s.parts[i]
		if p.wire() {
			p.copper = (p.to - p.from) * power.OhmPerMetre(20) / float64(max(power.Parallel, 1))
		} else {
			p.contact = joints / float64(contacts)
		}
		for _, leg := range p.legs {
			name := p.name
			if leg != "" && len(p.legs) > 1 {
				name += ", " + leg + " leg"
			}
			s.spots = append(s.spots, Spot{Name: name, Part: p.name, Leg: leg, FromM: p.from, ToM: p.to, part: p})
		}
	}
	s.spots = append(s.spots, Spot{Name: "none of these"})
}

// expectCurrents solves for the currents that the methods use: of all surge thrusters that are not
// jammed, held, or of a branch's thruster alone.
func (s *Search) expectCurrents(r *fit.Result, rep *findings.Report) {
	sign, p := make([]int8, len(s.v.Thrusters)), outlook.Present(r, rep)
	alone, one := strings.CutPrefix(s.Fault, branch)
	for i := range sign {
		if t := &s.v.Thrusters[i]; one && t.Name == alone || !one && t.Surge() && !rep.MayBeJammed(t.Name) {
			sign[i] = 1
		}
	}
	if !slices.Contains(sign, 1) {
		sign[max(slices.IndexFunc(s.v.Thrusters, func(t vehicle.Thruster) bool { return !rep.MayBeJammed(t.Name) }), 0)] = 1
	}
	k := predict.OfThruster(slices.Index(sign, 1), predict.BranchOhm)
	for _, t := range rep.Trends {
		if one && t.Cause.Name == s.Fault {
			if at := t.TermsAt(len(rep.Dives) - 1)[0].Param; at != t.Cause.Param() { // the trend is of reverse alone
				k, sign[slices.Index(sign, 1)] = at, -1
			}
		}
	}
	for _, text := range rep.UntilFreed() {
		s.mind = "; " + text
	}
	solve := func(p predict.Params) float64 {
		var pt predict.Point
		r.Model.Solve(&predict.Condition{Sign: sign, Electrical: true, Held: true, WaterC: typicalC, TetherOutM: s.v.Tether.LengthM}, p, &pt, nil)
		return max(pt.Out[quantity.CurrentA], leastAmps)
	}
	s.load, s.typical = s.v.DrivesName(sign), s.typicalAt(solve(p))
	s.amps = func(excess float64) float64 {
		p[k] = r.Base[k] + excess
		return solve(p)
	}
}

// unknown returns the sizes tried for a fault of unknown size.
func unknown(unit string) (out []size) {
	for _, x := range unknownSizes[unit] {
		out = append(out, size{x, sizeSD * math.Abs(x), 1 / float64(len(unknownSizes[unit]))})
	}
	return out
}

// foundSizes returns the size that a finding's trend has today.
func (s *Search) foundSizes(rep *findings.Report, f *findings.Finding, unit string) []size {
	t := rep.Trend(f.Cause.Quantity)
	if t == nil {
		return unknown(unit)
	}
	switch l := t.Level; unit {
	case "Ω":
		return []size{{l.Value, math.Hypot((l.High-l.Low)/4, todaySD*l.Value), 1}}
	case "ln MΩ":
		return []size{{math.Log(l.Value) - s.leakLn, leakTodaySD, 1}}
	}
	return unknown(unit)
}

// spread makes the hypotheses: probability p is shared among the spots by their weights, each with
// the fault's sizes, and the rest goes to "none of these".
func (s *Search) spread(p float64, sizes []size) {
	last, total := len(s.spots)-1, 0.0
	for i := range last {
		total += s.spots[i].weight()
	}
	for i := range last {
		for _, z := range sizes {
			s.hyps = append(s.hyps, s.hypothesis(i, p*s.spots[i].weight()/total*z.weight, z))
		}
	}
	s.hyps = append(s.hyps, s.hypothesis(last, 1-p, size{}))
	s.sumUp()
}

// Spots returns the search's spots, likeliest first.
func (s *Search) Spots() []Spot {
	out := slices.Clone(s.spots)
	slices.SortStableFunc(out, func(a, b Spot) int { return cmp.Compare(b.Probability, a.Probability) })
	return out
}
