package locate

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// A State is how a search stands. Its JSON form is stable; Schema counts up
// when it changes.
type State struct {
	Schema  int       `json:"schema"`
	Vehicle string    `json:"vehicle"`
	Fault   string    `json:"fault"`
	Since   string    `json:"since_dive"` // "" where nothing was found
	Taken   []Taken   `json:"readings"`
	Spots   []Spot    `json:"spots"`
	Next    *Proposal `json:"next"`   // nil at the end
	Result  *Result   `json:"result"` // nil before it
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

// An Expectation is what a test should read if something is so: a range that
// holds 95 %.
type Expectation struct {
	If   string  `json:"if"`
	Low  float64 `json:"low"`
	High float64 `json:"high"`
	Unit string  `json:"unit"`
}

// A Result is where a search has ended: one spot, or those that the
// instruments do not tell apart.
type Result struct {
	Spots       []string `json:"spots"`
	Probability float64  `json:"probability"` // of all of them
	Repair      string   `json:"repair"`
}

// State is how the search stands.
func (s *Search) State() *State {
	out := &State{Schema: 1, Vehicle: s.v.Name, Fault: s.Fault, Since: s.Since, Taken: slices.Clone(s.Taken), Spots: s.Spots()}
	if out.Taken == nil {
		out.Taken = []Taken{}
	}
	if t := s.Next(); t != nil {
		out.Next = s.propose(t)
	} else {
		out.Result = s.result()
	}
	return out
}

func (s *Search) propose(t *Test) *Proposal {
	p := &Proposal{Test: t.Name, Do: t.method.do(s, t), Safety: t.method.safety, Minutes: t.Minutes, Opens: t.Opens}
	if p.Opens == nil {
		p.Opens = []string{}
	}
	if t.method == &murray {
		for _, sp := range s.Spots()[:min(3, len(s.spots)-1)] {
			p.Expect = append(p.Expect, s.expect(t, sp.Name, func(i int) bool { return s.spots[i].Name == sp.Name }))
		}
		return p
	}
	p.Expect = []Expectation{s.expect(t, "it is there", func(i int) bool { return t.covers[i] }),
		s.expect(t, "it is not", func(i int) bool { return !t.covers[i] })}
	return p
}

// expect is what a test reads if the fault is in one of some spots: the mean and
// 95 % of a normal distribution with the mixture's moments.
func (s *Search) expect(t *Test, what string, in func(spot int) bool) Expectation {
	var w, mean, square float64
	for i, o := range s.outlooks(t, &s.usual) {
		if h := &s.hyps[i]; in(h.spot) {
			w, mean, square = w+h.weight, mean+h.weight*o.mean, square+h.weight*(o.mean*o.mean+o.sd*o.sd)
		}
	}
	e := Expectation{If: what, Unit: t.method.unit}
	if w == 0 {
		return e
	}
	mean /= w
	half := 1.96 * math.Sqrt(max(square/w-mean*mean, 0))
	e.Low, e.High = mean-half, mean+half
	if t.method.yesNo {
		e.Low, e.High, e.Unit = mean, mean, "probability of yes"
	}
	if t.method != &insulation {
		e.Low = max(e.Low, 0)
	}
	if t.method == &millivolts {
		e.High = min(e.High, s.v.Battery.NominalV/s.usual.amps)
	}
	if t.method.shown != nil {
		e.Low, e.High = t.method.shown(&s.usual, e.Low), t.method.shown(&s.usual, e.High)
	}
	return e
}

// result is the fewest spots that hold most of the probability.
func (s *Search) result() *Result {
	out := &Result{}
	var repairs []string
	for _, sp := range s.Spots() {
		out.Spots = append(out.Spots, sp.Name)
		out.Probability += sp.Probability
		how := "it is not in this chain: check the meters on something known, then the finding's other explanations"
		if sp.at >= 0 {
			how = sp.Part + ": " + s.parts[sp.at].kind.repair
			if !s.parts[sp.at].reached && !s.parts[sp.at].wire() {
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

// Summary is the state in a sentence or two, for a page or a note.
func (st *State) Summary() string {
	what := "where is the " + strings.ReplaceAll(st.Fault, "_", " ") + "?"
	if st.Result != nil {
		return fmt.Sprintf("%s %s (%s)", what, strings.Join(st.Result.Spots, " or "), percent(st.Result.Probability))
	}
	var likely []string
	for _, sp := range st.Spots[:min(3, len(st.Spots))] {
		likely = append(likely, fmt.Sprintf("%s (%s)", sp.Name, percent(sp.Probability)))
	}
	return fmt.Sprintf("%s likeliest %s; next: %s", what, strings.Join(likely, ", "), st.Next.Do)
}

func percent(p float64) string {
	if p > 0.99 {
		return "over 99 %"
	}
	return fmt.Sprintf("%.0f %%", 100*p)
}
