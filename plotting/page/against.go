package page

import (
	"fmt"
	"math"
	"strings"

	"sagline/plotting"
	"sagline/predict/drift"
)

// againstPictures draw measured against predicted, one for each kind of
// reading that the log has.
func againstPictures(rep *drift.Report, pairs []plotting.Pair, line *plotting.Timeline) []Picture {
	var out []Picture
	reach := plotting.Reach(pairs)
	for kind, name := range plotting.ReadingKinds {
		var own []plotting.Pair
		for _, q := range pairs {
			if q.Kind == kind {
				own = append(own, q)
			}
		}
		if len(own) > 0 {
			out = append(out, againstPicture(rep, name, own, reach, line))
		}
	}
	return out
}

func againstPicture(rep *drift.Report, name string, pairs []plotting.Pair, reach float64, line *plotting.Timeline) Picture {
	p := Picture{Title: name, High: 150}
	f := frame{y0: -reach * 1.08, y1: reach * 1.08, top: strip + 4, foot: 116}
	f.x0, f.x1 = line.Span()
	p.text("s", "sd", 0, 14)
	p.path("band", fmt.Sprintf("M%sH%sV%sH%sz", xy(left, f.y(plotting.NearSD)), n(right), n(f.y(-plotting.NearSD)), n(left)))
	p.axes(&f, line, plotting.EvenTicks(-reach, reach, 4))
	p.path("sound dashed", "M"+xy(left, f.y(0))+"H"+n(right))
	p.text("sound", "predicted", right+4, f.y(0)+4)
	x := make([]float64, len(line.X))
	for i := range x {
		x[i] = f.x(line.X[i])
	}
	says := make([]tally, len(x))
	var dots, out, aside strings.Builder
	seen := map[string]bool{}
	for _, q := range pairs {
		says[q.Dive].add(q)
		at, up := dot(x[q.Dive], f.y(q.Z)), 4.0
		if q.Z < 0 {
			up = -4
		}
		switch b := &dots; {
		case q.SetAside:
			aside.WriteString("M" + xy(x[q.Dive]-3.5, f.y(q.Z)-3.5) + "l7 7m0-7l-7 7")
			continue
		case math.Abs(q.Z) > reach:
			at, b = fmt.Sprintf("M%sl3.5 %sl3.5 %sz", xy(x[q.Dive]-3.5, f.y(q.Z)), n(-up), n(up)), &out
			fallthrough
		default:
			if !seen[at] { // hundreds of readings share few places
				b.WriteString(at)
				seen[at] = true
			}
		}
	}
	p.path("dot small", dots.String())
	p.path("measured full", out.String())
	p.path("aside", aside.String())
	p.hits(x, apart(x, 4), f.foot, func(d int) (string, string) {
		return fmt.Sprintf("M%sV%s", xy(x[d], f.top), n(f.foot)), diveName(&rep.Dives[d], line.Dated) + ": " + says[d].String()
	})
	all := tally{}
	for _, t := range says {
		all.join(t)
	}
	p.Says = all.String()
	p.Alt = fmt.Sprintf("%s: each reading's distance from a sound vehicle's, in standard deviations, over %d dives. %s. The table below lists those that lie far.",
		name, len(x), all.String())
	return p
}

// tally counts readings.
type tally struct {
	all, far, aside int
	worst           float64 // sd, farthest from 0 of those not set aside
}

func (t *tally) add(q plotting.Pair) {
	t.all++
	switch {
	case q.SetAside:
		t.aside++
	case math.Abs(q.Z) > plotting.NearSD:
		t.far++
		fallthrough
	default:
		if math.Abs(q.Z) > math.Abs(t.worst) {
			t.worst = q.Z
		}
	}
}

func (t *tally) join(u tally) {
	t.all, t.far, t.aside = t.all+u.all, t.far+u.far, t.aside+u.aside
	if math.Abs(u.worst) > math.Abs(t.worst) {
		t.worst = u.worst
	}
}

// String says it within a small picture's width.
func (t tally) String() string {
	if t.all == 0 {
		return "none"
	}
	out := fmt.Sprintf("%d of %d far, farthest %+.1f sd", t.far, t.all, t.worst)
	if t.aside > 0 {
		out += fmt.Sprintf(", %d set aside", t.aside)
	}
	return out
}
