package locate

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"sagline/predict/findings"
	"sagline/predict/vehicle"
)

// A State is how a search stands. Its JSON form is stable; Schema counts up
// when it changes.
type State struct {
	Schema  int       `json:"schema"`
	Vehicle string    `json:"vehicle"`
	Fault   string    `json:"fault"`
	Since   string    `json:"since_dive"` // "" if nothing was found
	Taken   []Taken   `json:"readings"`
	Spots   []Spot    `json:"spots"`
	Next    *Proposal `json:"next"`   // nil at the end
	Result  *Result   `json:"result"` // nil until then

	Suspected bool `json:"-"` // whether what was found is less likely than not
}

// A Proposal is the next test in words.
type Proposal struct {
	Test    string        `json:"test"`
	Do      string        `json:"do"`
	Safety  string        `json:"safety"`
	Minutes float64       `json:"minutes"`
	Opens   []string      `json:"opens"` // parts that cannot be reached and have to be opened for it
	Expect  []Expectation `json:"expect"`
}

// An Expectation is the 95 % range of a test's reading under a condition.
type Expectation struct {
	If   string  `json:"if"`
	Low  float64 `json:"low"`
	High float64 `json:"high"`
	Unit string  `json:"unit"`
}

// String words an expectation, to three digits.
func (e Expectation) String() string {
	if e.Unit == chance {
		return fmt.Sprintf("if %s: yes in %.0f %%", e.If, 100*e.Low)
	}
	return strings.TrimRight(fmt.Sprintf("if %s: %s to %s %s", e.If, vehicle.Short(e.Low), vehicle.Short(e.High), e.Unit), " ")
}

// chance is the unit of an expected probability of yes.
const chance = "probability of yes"

// A Result is the spot that a search has found, or the spots that the instruments cannot tell
// apart.
type Result struct {
	Spots       []string `json:"spots"`
	Probability float64  `json:"probability"` // of all of them
	Repair      string   `json:"repair"`
}

// Found reports whether the search follows a finding.
func (s *Search) Found() bool { return s.since != "" }

// State returns how the search stands.
func (s *Search) State() *State {
	out := &State{Schema: 1, Vehicle: s.v.Name, Fault: s.Fault, Since: s.since, Suspected: s.suspected, Taken: append([]Taken{}, s.taken...), Spots: s.Spots()}
	if t := s.Next(); t != nil {
		out.Next = s.propose(t)
	} else {
		out.Result = s.result()
	}
	return out
}

func (s *Search) propose(t *Test) *Proposal {
	p := &Proposal{Test: t.Name, Do: t.method.do(s, t), Safety: t.method.safety, Minutes: t.Minutes, Opens: append([]string{}, t.Opens...)}
	if t.method.safety == bladesClear {
		p.Safety += s.mind
	}
	if t.method == &murray {
		likely := slices.DeleteFunc(s.Spots(), func(sp Spot) bool { return sp.part == nil })
		for _, sp := range likely[:min(3, len(likely))] {
			p.Expect = append(p.Expect, s.expect(t, sp.Name, func(i int) bool { return s.spots[i].Name == sp.Name }))
		}
		return p
	}
	p.Expect = []Expectation{s.expect(t, "it is there", func(i int) bool { return t.covers[i] }),
		s.expect(t, "it is not", func(i int) bool { return !t.covers[i] })}
	return p
}

// expect returns what a test should read if the fault is at a spot that in accepts, over the
// likelier sizes.
func (s *Search) expect(t *Test, what string, in func(spot int) bool) Expectation {
	all, most := s.predictions(t, &s.typical), 0.0
	for i := range all {
		if in(s.hyps[i].spot) {
			most = max(most, s.hyps[i].weight)
		}
	}
	e := Expectation{If: what, Low: math.Inf(1), High: math.Inf(-1), Unit: t.method.unit}
	for i, o := range all {
		if in(s.hyps[i].spot) && s.hyps[i].weight >= most/20 {
			e.Low, e.High = min(e.Low, o.mean-vehicle.Z95*o.sd), max(e.High, o.mean+vehicle.Z95*o.sd)
		}
	}
	switch t.method {
	case &wiggle:
		e.Unit = chance
		return e
	case &millivolts:
		e.High = min(e.High, s.v.Battery.NominalV/s.typical.amps)
	case &murray:
		e.High = min(e.High, 1)
	case &hold:
		e.Unit = "kPa lost"
	}
	if t.method != &insulation {
		e.Low = max(e.Low, 0)
	}
	if t.method.toReading != nil {
		e.Low, e.High = t.method.toReading(&s.typical, e.Low), t.method.toReading(&s.typical, e.High)
	}
	return e
}

// result returns the fewest spots that together reach the probability found.
func (s *Search) result() *Result {
	out := &Result{}
	var repairs []string
	for _, sp := range s.Spots() {
		out.Spots = append(out.Spots, sp.Name)
		out.Probability += sp.Probability
		how := "it is not in this chain: check the meters on something known, then the finding's other explanations"
		if sp.part != nil {
			how = sp.Part + ": " + sp.kind.repair
			if !sp.reached && !sp.wire() {
				how += " (it is sealed: opened for that, it has to be sealed again)"
			}
		}
		if !slices.Contains(repairs, how) {
			repairs = append(repairs, how)
		}
		if out.Probability >= found {
			break
		}
	}
	out.Repair = strings.Join(repairs, "; or ")
	return out
}

// Summary words the state in a sentence or two, for a page or a note.
func (st *State) Summary() string {
	what := "where is the " + strings.ReplaceAll(st.Fault, "_", " ") + "?"
	if st.Result != nil {
		return fmt.Sprintf("%s %s (%s)", what, strings.Join(st.Result.Spots, " or "), findings.Sure(st.Result.Probability))
	}
	var likely []string
	for _, sp := range st.Spots[:min(3, len(st.Spots))] {
		likely = append(likely, fmt.Sprintf("%s (%s)", sp.Name, findings.Sure(sp.Probability)))
	}
	return fmt.Sprintf("%s likeliest %s; next: %s", what, strings.Join(likely, ", "), st.Next.Do)
}
