package priors

import (
	"math"
	"slices"

	"sagline/predict"
	"sagline/predict/causes"
)

// A Space numbers the parameters that summaries of dives hold: a place is an index into All.
type Space struct {
	Causes   []causes.Cause
	Of       []Parameter // by index of predict.Params
	All      []int       // indices of predict.Params, in order
	Place    []int       // of each index of predict.Params its index in All, or −1
	Static   []int       // places of those that the file does not tell exactly
	InStatic []int       // of each place its index in Static, or −1
	Scatter  []int       // places of those that vary from dive to dive
	Columns  []Column    // all amplitudes of all causes, each cause's and then its other ways together
	Keys     []Doubt     // the uncertainties of the file's keys
	Prior    Prior       // of the static parameters
}

// A Column is the direction in the space of one amplitude of a cause, or of its first in another way
// that shares no parameter with that.
type Column struct {
	Cause int
	Way   int     // of the cause, 0 for its amplitudes
	SD    float64 // standard deviation of the amplitude
	Terms []Term
}

// A Term is a place in the space and what one unit of the amplitude adds there.
type Term struct {
	At  int
	Per float64
}

// OfOneDive are the parameters that belong to one dive alone; they are integrated out of its
// summary.
var OfOneDive = []int{predict.SagVPerMinute, predict.DepthM, predict.TetherOutM, predict.MinuteMin, predict.WaterK}

// A Log is what a vehicle's log never has or has too late.
type Log struct {
	Unneeded []int // parameters that no line needs: they are left out of the space
	Unread   []int // thrusters that no baseline dive was read with: the file alone tells of them
}

// New returns the space of a vehicle and its log.
func New(m *predict.Model, log Log) *Space {
	keys := Doubts(m.Vehicle)
	s := &Space{Causes: causes.Table(m.Vehicle), Of: withKeys(m, keys, log), Keys: keys, Place: make([]int, m.Dim())}
	for k := range s.Place {
		s.Place[k] = -1
		p := &s.Of[k]
		if slices.Contains(OfOneDive, k) || slices.Contains(log.Unneeded, k) || p.Prior == 0 && p.Scatter == 0 && p.Fault == 0 {
			continue
		}
		at := len(s.All)
		s.Place[k], s.All = at, append(s.All, k)
		if s.InStatic = append(s.InStatic, -1); p.Prior > 0 {
			s.InStatic[at], s.Static = len(s.Static), append(s.Static, at)
		}
		if p.Scatter > 0 {
			s.Scatter = append(s.Scatter, at)
		}
	}
	s.Prior = s.priorOf(m)
	s.Causes = slices.DeleteFunc(s.Causes, func(c causes.Cause) bool {
		return slices.ContainsFunc(c.Amplitudes, func(a causes.Amplitude) bool { return s.outside(a.Terms) })
	})
	for i := range s.Causes {
		c := &s.Causes[i]
		c.Else = slices.DeleteFunc(slices.Clone(c.Else), func(way causes.Way) bool { return s.outside(way.Terms) })
		for _, a := range c.Amplitudes {
			s.addColumn(i, 0, a.Step, a.Terms)
		}
		for k, way := range c.Else {
			if !slices.ContainsFunc(way.Terms, func(t causes.Term) bool {
				return slices.ContainsFunc(c.Amplitudes[0].Terms, func(first causes.Term) bool { return first.Param == t.Param })
			}) {
				s.addColumn(i, 1+k, c.Amplitudes[0].Step, way.Terms)
			}
		}
	}
	return s
}

func (s *Space) addColumn(cause, way int, step float64, terms []causes.Term) {
	col := Column{Cause: cause, Way: way, SD: faultSteps * step}
	for _, t := range terms {
		col.Terms = append(col.Terms, Term{s.Place[t.Param], t.Per})
	}
	s.Columns = append(s.Columns, col)
}

// outside reports whether any of the terms is of a parameter that is not in the space.
func (s *Space) outside(terms []causes.Term) bool {
	return slices.ContainsFunc(terms, func(t causes.Term) bool { return s.Place[t.Param] < 0 })
}

// Known returns the parameter at a place of the space.
func (s *Space) Known(at int) *Parameter { return &s.Of[s.All[at]] }

// FromKeys is the part of two parameters' covariance that the keys make.
func (s *Space) FromKeys(k, l int) float64 {
	sum := 0.0
	for i := range s.Keys {
		sum += s.Keys[i].By[k] * s.Keys[i].By[l]
	}
	return sum
}

// Spread is one standard deviation of a prediction with slopes by predict.Params, scatter from dive
// to dive included.
func (s *Space) Spread(slopes []float64) float64 {
	variance := 0.0
	for k, x := range slopes {
		variance += sq(x) * (sq(s.Of[k].Beside) + sq(s.Of[k].Scatter))
	}
	for i := range s.Keys {
		sum := 0.0
		for k, x := range slopes {
			sum += x * s.Keys[i].By[k]
		}
		variance += sq(sum)
	}
	return math.Sqrt(variance)
}

// Faults returns how far causes in the vehicle may take each parameter, by index of predict.Params. Weight that
// is gained per metre is left out: it is rare, and no climb would tell anything else.
func (s *Space) Faults() map[int]float64 {
	out := map[int]float64{}
	for _, k := range s.All {
		if f := s.Of[k].Fault; f > 0 && !ofInstrument(k) && k != predict.TrimPerM {
			out[k] = f
		}
	}
	return out
}

// ofInstrument reports whether a parameter is an instrument's or a circumstance's.
func ofInstrument(k int) bool {
	return k >= predict.StreamMS && k < predict.FirstThruster || k == predict.OpenCircuitV || k == predict.UnloggedA || k == predict.UnlitA
}
