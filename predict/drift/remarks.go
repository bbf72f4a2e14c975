package drift

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/forecast"
	"sagline/session/units"
)

// remarks say what was set aside of the newest dive that may be a jam, what its readings cannot tell, and the one
// reading that would tell most: when it would at least halve an interval that
// is wider than half of the way from the sound value to the limit.
func (a *analysis) remarks(trends []findings.Trend) []string {
	out := []string{}
	newest := len(a.r.Dives) - 1
	if newest < 0 {
		return out
	}
	streaks := a.streaks()
	for _, s := range a.r.Outliers(newest) {
		if s.Jammed != "" && streaks[s.Column] == nil {
			out = append(out, fmt.Sprintf("dive %s, line %d, %s", a.r.Dives[newest].Log.Label, s.Line, s.Words()))
		}
	}
	for _, column := range slices.Sorted(maps.Keys(streaks)) {
		out = append(out, streaks[column].words())
	}
	for _, c := range a.tracked {
		row := &a.causes[c]
		if row.Name != "power_loop" && row.Name != "thrust" {
			continue
		}
		told := slices.ContainsFunc(trends, func(t findings.Trend) bool {
			return t.Quantity == row.Quantity && (t.State == findings.Sound || t.State == findings.Drifting || t.State == findings.PastLimit || t.State == findings.NearLimit)
		})
		way := math.Abs(row.Scale.Amplitude(row.Limit(&a.r.Model.Vehicle.Limits), a.sound(c)))
		unit := ""
		if row.Scale.Unit != "" {
			unit = " " + row.Scale.Unit
		}
		if g, ok := forecast.MostTelling(a.r, newest, row.Param()); ok && g.Before > way/2 && g.With < g.Before/2 {
			open := "one dive's readings leave %s open: resistance and thrust hardly separate; %s would take ±%s%s to ±%s%s"
			if told {
				open = "only all dives together tell %s: in one, resistance and thrust hardly separate; %s would take its ±%s%s to ±%s%s"
			}
			out = append(out, fmt.Sprintf(open, row.Words, g.Quantity.Instrument(), units.Digits(g.Before, 2), unit, units.Digits(g.With, 2), unit))
		}
	}
	return out
}

// inARow is how many dives with readings of one column, one after the other, are enough that all of them set aside,
// the same way, are no slips: common practice, no source.
const inARow = 3

// A streak is dives, newest first, of which all readings of a column were set aside the same way.
type streak struct {
	newest fit.Outlier
	labels []string
	ended  bool
}

// streaks are the long ones by column, each up to the newest dive that has the column.
func (a *analysis) streaks() map[string]*streak {
	all := map[string]*streak{}
	for n := len(a.r.Dives) - 1; n >= a.r.Baseline; n-- {
		aside, read := map[string][]fit.Outlier{}, map[string]int{}
		for _, o := range a.r.Outliers(n) {
			aside[o.Column] = append(aside[o.Column], o)
		}
		for i := range a.r.Dives[n].Log.Lines {
			for _, v := range a.r.Dives[n].Log.Lines[i].Readings {
				if v.Column != nil {
					read[v.Column.Name]++
				}
			}
		}
		for column, times := range read {
			if all[column] == nil {
				all[column] = &streak{}
			}
			all[column].add(a.r.Dives[n].Log.Label, times, aside[column])
		}
	}
	maps.DeleteFunc(all, func(_ string, s *streak) bool { return len(s.labels) < inARow })
	return all
}

// add takes the dive before, in which a column was read so many times, into the streak, or ends it.
func (s *streak) add(label string, times int, aside []fit.Outlier) {
	if len(s.labels) == 0 && len(aside) > 0 {
		s.newest = aside[0]
	}
	other := func(o fit.Outlier) bool { return o.High() != s.newest.High() }
	if s.ended = s.ended || len(aside) < times || slices.ContainsFunc(aside, other); !s.ended {
		s.labels = append(s.labels, label)
	}
}

func (s *streak) words() string {
	way, what := "low", "no slips"
	if s.newest.High() {
		way = "high"
	}
	if s.newest.Jammed != "" {
		what += "; is " + s.newest.Jammed + " jammed (unplugged, turn it by hand)?"
	}
	return fmt.Sprintf("%s was set aside as far too %s in each of the dives from %s to %s that have it: %s", s.newest.Column, way, s.labels[len(s.labels)-1], s.labels[0], what)
}
