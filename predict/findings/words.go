package findings

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"sagline/session/units"
)

// Rounded shows x to the digits that an interval of half-width half leaves known.
func Rounded(x, half float64) string {
	if half <= 0 || math.IsInf(half, 0) {
		return units.Digits(x, 3)
	}
	digits := max(0, 1-int(math.Floor(math.Log10(half))))
	return units.Zeroless(fmt.Sprintf("%.*f", digits, x))
}

// lopsided is the ratio of an interval's two sides from which both ends are shown: half of the
// whole fits neither. Common practice, no source.
const lopsided = 1.5

// String shows a value with its 95 % interval: by its ends if they are at unequal distances, one is
// cut at 0 or ± would reach below 0 where the interval does not, else with ±.
func (e Estimate) String() string {
	half := (e.High - e.Low) / 2
	up, down := e.High-e.Value, e.Value-e.Low
	switch {
	case half <= 0:
		return Rounded(e.Value, half)
	case max(up, down) > lopsided*min(up, down), e.Low == 0 && up > 1.01*down, e.Low > 0 && e.Value < half:
		low := "0"
		if e.Low != 0 {
			low = Rounded(e.Low, half)
		}
		return fmt.Sprintf("%s (%s to %s)", Rounded(e.Value, half), low, Rounded(e.High, half))
	}
	return fmt.Sprintf("%s ± %s", Rounded(e.Value, half), Rounded(half, half))
}

// Sure shows a probability without claiming certainty.
func Sure(p float64) string {
	if p > 0.99 {
		return "over 99 %"
	}
	return fmt.Sprintf("%.0f %%", 100*p)
}

// Likely is the probability from which a finding is worded as a fact: common
// practice, no source.
const Likely = 0.8

// leastSaid is the probability from which an alternative is named to a person.
const leastSaid = 0.02

// How many alternatives are named one by one: common practice, no source.
const (
	mostElse   = 4 // of a finding
	mostUnsure = 3 // where there is none
)

// said words alternatives, likeliest first. Those beyond the first few, and unlikely ones, are
// summed up.
func said(all []Alternative, most int) (out []string) {
	rest := 0.0
	for _, a := range all {
		if a.Fault != Other && len(out) < most && a.Probability >= leastSaid {
			out = append(out, fmt.Sprintf("%s %s", a.Words, Sure(a.Probability)))
		} else {
			rest += a.Probability
		}
	}
	if rest >= leastSaid {
		out = append(out, "anything else "+Sure(rest))
	}
	return out
}

// LeastReported is the probability from which a finding is reported as one, alarm or not.
const LeastReported = 0.5

// Reported returns the findings that are likelier than not. Unsure has remarks on the others.
func (r *Report) Reported() (out []Finding) {
	for i := range r.Findings {
		if f := r.Findings[i]; f.Sure() >= LeastReported {
			f.past = r.past(&f)
			out = append(out, f)
		}
	}
	return out
}

// past words that the quantity of a finding is past its limit, "" if it is not.
func (r *Report) past(f *Finding) string {
	if f.Cause == nil {
		return ""
	}
	at := slices.IndexFunc(r.Trends, func(t Trend) bool { return t.Cause.Name == f.Cause.Name })
	if at < 0 || r.Trends[at].Limit == nil || r.Trends[at].ComesBy != nil {
		return ""
	}
	t := &r.Trends[at]
	worse, level, limit := t.Cause.Worse, t.Level, *t.Limit
	if t.Cause.Scale.Negative {
		worse = -worse
	}
	unit := r.Unit(t.Quantity)
	said := strings.TrimRight(" past its limit of "+units.Digits(unit.FromBase(limit), 3)+" "+unit.Name, " ")
	it := "; it "
	if !f.likely() {
		it = "; if so, it "
	}
	switch {
	case worse*(level.Value-limit) <= 0:
		return ""
	case min(worse*(level.Low-limit), worse*(level.High-limit)) <= 0:
		return it + "likely stands" + said
	}
	return it + "stands" + said
}

// Sure returns the probability of what a finding's words say: of its cause, or of all in Either.
func (f *Finding) Sure() float64 {
	if f.Either == nil {
		return f.Probability
	}
	p := 0.0
	for _, a := range f.Either {
		p += a.Probability
	}
	return p
}

// Names returns the names of the causes that a finding's words cover.
func (f *Finding) Names() []string {
	if f.Either == nil {
		return []string{f.Cause.Name}
	}
	var out []string
	for _, a := range f.Either {
		out = append(out, a.Fault)
	}
	return out
}

// Words names what changed: its cause, or the cases of it that the readings do not tell apart.
func (f *Finding) Words() string {
	if len(f.Which) == 0 || f.Either != nil {
		return f.Cause.Words
	}
	var out []string
	for _, w := range f.Which {
		out = append(out, w.Words)
	}
	return strings.Join(out, " or ")
}

// What words what changed, as a fact only if that is likely.
func (f *Finding) What() string {
	if !f.likely() {
		return "perhaps " + f.Cause.What
	}
	return f.Cause.What
}

// likely reports whether what the finding says is likely.
func (f *Finding) likely() bool {
	p := f.Sure()
	if len(f.Which) > 0 && f.Either == nil {
		p = f.Which[0].Probability
	}
	return p >= Likely
}

// others returns the alternatives that its words do not cover.
func (f *Finding) others() []Alternative {
	return slices.DeleteFunc(slices.Clone(f.Alternatives), func(a Alternative) bool {
		return slices.ContainsFunc(f.Either, func(e Alternative) bool { return e.Fault == a.Fault })
	})
}

// OrElse words what else a finding could be, "" if nothing likely is left.
func (f *Finding) OrElse() string {
	which := f.Which
	if f.Either != nil {
		which = f.Either
	}
	text, cases, out := "", said(which, mostElse), said(f.others(), mostElse)
	if len(cases) > 0 {
		text = ": " + strings.Join(cases, ", ")
	}
	if len(out) > 0 {
		text += "; or else " + strings.Join(out, ", ")
	}
	return text
}

// changed is the probability of a change from which something is said to have changed, though not
// what: common practice, no source.
const changed = 0.8

// unsure words in a line a finding that is not told.
func (f *Finding) unsure() string {
	all := append([]Alternative{{f.Fault, f.Sure(), f.Cause.Words}}, f.others()...)
	slices.SortStableFunc(all, func(a, b Alternative) int { return cmp.Compare(b.Probability, a.Probability) })
	not := 0.0
	for _, a := range all {
		if a.Fault == OnceOnly || a.Fault == Nothing {
			not += a.Probability
		}
	}
	head := "not enough to say whether anything has changed since dive " + f.SinceDive
	if 1-not >= changed {
		head = "something has changed since dive " + f.SinceDive + ", not enough to say what"
	}
	return head + ": " + strings.Join(said(all, mostUnsure), ", ")
}

// Unsure returns the remarks on findings that are not told.
func (r *Report) Unsure() (out []string) {
	for i := range r.Findings {
		if f := &r.Findings[i]; f.Sure() < LeastReported {
			out = append(out, f.unsure())
		}
	}
	return out
}
