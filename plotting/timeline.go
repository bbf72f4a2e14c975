package plotting

import (
	"fmt"
	"math"
	"slices"
	"time"

	"sagline/predict/findings"
)

// A Timeline places the dives of a log on the x axis: at their days, or at their numbers from 1 if
// days are unknown or not to be shown.
type Timeline struct {
	X     []float64 // one for each dive, rising: seconds since 1970, or the dive's number
	Dated bool
}

// A Tick is a labelled value on an axis.
type Tick struct {
	Value float64
	Label string
}

const day = 86400.0

// ReadTimeline places one or more dives: at their days if dated is true and all days are known,
// otherwise at their numbers.
func ReadTimeline(dives []findings.Dive, dated bool) *Timeline {
	dated = dated && !slices.ContainsFunc(dives, func(d findings.Dive) bool { return d.Date == "" })
	t := &Timeline{Dated: dated}
	for i, d := range dives {
		x := float64(i + 1)
		if dated {
			on, _ := time.Parse(time.DateOnly, d.Date) // a report's dates are valid
			x = float64(on.Unix())
			if i > 0 && x <= t.X[i-1] { // draws dives of one day side by side
				x = t.X[i-1] + day/4
			}
		}
		t.X = append(t.X, x)
	}
	return t
}

// Range returns the range of x to draw: the dives and a margin.
func (t *Timeline) Range() (lo, hi float64) {
	lo, hi = t.X[0], t.X[len(t.X)-1]
	least := 0.5
	if t.Dated {
		least = day
	}
	pad := max((hi-lo)*0.04, least)
	return lo - pad, hi + pad
}

// After returns the x expected for the k-th dive after the newest, at the pace of the last few.
func (t *Timeline) After(k int) float64 {
	const few = 6
	last := len(t.X) - 1
	from := max(0, last-few)
	pace := 1.0
	if t.Dated {
		pace = 7 * day
	}
	if last > from {
		pace = (t.X[last] - t.X[from]) / float64(last-from)
	}
	return t.X[last] + pace*float64(k)
}

// ticks returns at most about most round values between lo and hi.
func (t *Timeline) ticks(lo, hi float64, most int) []Tick {
	if t.Dated {
		return dateTicks(lo, hi, most)
	}
	if hi-lo <= float64(most) {
		return stepTicks(lo, hi, 1) // whole numbers only
	}
	return evenTicks(lo, hi, most)
}

// dateTicks returns at most about most ticks at whole days or months. Labels show the year where it
// changes.
func dateTicks(lo, hi float64, most int) []Tick {
	days := (hi - lo) / day
	for _, step := range []int{1, 2, 7, 14} {
		if days/float64(step) <= float64(most) && days < 60 {
			return calendarTicks(lo, hi, at(math.Ceil(lo/day)*day), 0, step, "2 Jan")
		}
	}
	for _, months := range []int{1, 2, 3, 6, 12, 24, 60, 120, 240, 600, 1200} {
		if days/30.4/float64(months) <= float64(most) {
			first := at(lo)
			month := (int(first.Month()) - 1) / months * months // whole quarters and years
			d := time.Date(first.Year()-first.Year()%max(months/12, 1), time.Month(month%12+1), 1, 0, 0, 0, 0, time.UTC)
			return calendarTicks(lo, hi, d, months, 0, "Jan")
		}
	}
	return nil
}

// calendarTicks returns the ticks between lo and hi, counted from day d in steps of months and
// days. The first tick of each year has the year in its label.
func calendarTicks(lo, hi float64, d time.Time, months, days int, format string) (out []Tick) {
	for ; float64(d.Unix()) <= hi; d = d.AddDate(0, months, days) {
		if x := float64(d.Unix()); x >= lo {
			label := d.Format(format)
			if n := len(out); n == 0 || at(out[n-1].Value).Year() != d.Year() {
				label += d.Format("\n2006")
			}
			out = append(out, Tick{x, label})
		}
	}
	return out
}

func at(x float64) time.Time { return time.Unix(int64(x), 0).UTC() }

// evenTicks returns at most about most round values between lo and hi.
func evenTicks(lo, hi float64, most int) []Tick {
	step := math.Pow(10, math.Floor(math.Log10((hi-lo)/float64(most))))
	for _, m := range []float64{1, 2, 5, 10} {
		if (hi-lo)/(m*step) <= float64(most) {
			step *= m
			break
		}
	}
	return stepTicks(lo, hi, step)
}

func stepTicks(lo, hi, step float64) []Tick {
	digits := max(0, -int(math.Floor(math.Log10(step)+1e-9)))
	var out []Tick
	for k := math.Ceil(lo / step); k*step <= hi; k++ { // in the label, +0 turns −0 into 0
		out = append(out, Tick{Value: k * step, Label: Minus(fmt.Sprintf("%.*f", digits, k*step+0))})
	}
	return out
}
