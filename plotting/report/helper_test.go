package report

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/drift"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
)

// otter is an invented one.
func otter(t *testing.T) *vehicle.Vehicle {
	t.Helper()
	v, err := vehicle.Read(strings.NewReader(simulate.VehicleText), vehicle.FileName)
	require.NoError(t, err)
	return v
}

// A maker makes a logbook for a test.
type maker func(t *testing.T) (*vehicle.Vehicle, *session.Log)

// season is n simulated dives with slips; a joint corrodes from dive 8 and is
// re-made before dive 20, then the thrusters lose their push.
func season(n int) maker {
	return func(t *testing.T) (*vehicle.Vehicle, *session.Log) {
		v := otter(t)
		log := simulate.Log(v, faulty(n))
		return v, log
	}
}

func faulty(n int) simulate.Season {
	return simulate.Season{Dives: n, Start: time.Date(2025, 3, 8, 0, 0, 0, 0, time.UTC), Seed: 10, Slips: 0.004, Service: map[int][]string{20: {"joint"}},
		Drift: func(d int, p predict.Params) {
			if d >= 8 && d < 20 {
				p[predict.LoopOhm] += 0.02 * float64(d-7)
			}
			if d >= 23 {
				p[predict.LogThrust] -= 0.004 * float64(d-22)
			}
		}}
}

// drifting is n simulated dives in which a parameter gains so much a dive, and
// so much at once, from dive 9 on.
func drifting(n, param int, perDive, atOnce float64) maker {
	return func(t *testing.T) (*vehicle.Vehicle, *session.Log) {
		v := otter(t)
		return v, simulate.Log(v, simulate.Season{Dives: n, Start: time.Date(2025, 3, 8, 0, 0, 0, 0, time.UTC), Seed: 9,
			Drift: func(d int, p predict.Params) {
				if d >= 9 {
					p[param] += atOnce + perDive*float64(d-8)
				}
			}})
	}
}

// nasty is what a log may hold and a page must show as text.
const nasty = `<img src=x onerror=alert(1)>'"&amp;</style>`

// hostile is a log whose every text tries to be more than text.
func hostile(n int) maker {
	return func(t *testing.T) (*vehicle.Vehicle, *session.Log) {
		v := otter(t)
		v.Name = nasty + "\x00\x1b[31m\u202eelddup\u2066" + strings.Repeat("W", 10000)
		v.Thrusters[0].Name = `"><script>alert(1)</script>`
		v.Thrusters[1].Name = strings.Repeat("starboard", 40)
		v.Thrusters[2].Name = "\u05d0\u05d1\u200f{{.}}%s"
		log := simulate.Log(v, faulty(n))
		for d := range log.Dives {
			log.Dives[d].Label = "=1+1|" + nasty + strings.Repeat("9", d)
			log.Dives[d].Lines[0].Note = nasty + "\x00\u202e" + strings.Repeat("m", 10000)
			log.Dives[d].Lines[1].Note = "\x07]]></svg><!-- \u2028"
		}
		return v, log
	}
}

func analysed(t *testing.T, make maker) (*fit.Result, *findings.Report) {
	t.Helper()
	v, log := make(t)
	r, err := fit.Fit(v, log)
	require.NoError(t, err)
	return r, drift.Analyse(r)
}

// logOf is the log of a fit.
func logOf(r *fit.Result) *session.Log {
	log := &session.Log{}
	for i := range r.Dives {
		log.Dives = append(log.Dives, *r.Dives[i].Log)
	}
	return log
}

// A reading is a log read already, for tests that leave it as it is.
type reading struct {
	r       *fit.Result
	rep     *findings.Report
	vehicle *Vehicle
}

var (
	seasons  = map[int]*reading{} // by their dives
	hostiles *reading
)

// seasonRead is a season, read once.
func seasonRead(t *testing.T, n int) (*fit.Result, *findings.Report) {
	t.Helper()
	if seasons[n] == nil {
		r, rep := analysed(t, season(n))
		seasons[n] = &reading{r: r, rep: rep}
	}
	rep := *seasons[n].rep // its units are changed
	return seasons[n].r, &rep
}

// ofSeason is the page of a season.
func ofSeason(t *testing.T, n int) *Page {
	t.Helper()
	seasonRead(t, n)
	return seasons[n].page()
}

// hostileRead is a hostile log, read once.
func hostileRead(t *testing.T) (*fit.Result, *findings.Report) {
	t.Helper()
	if hostiles == nil {
		r, rep := analysed(t, hostile(12))
		hostiles = &reading{r: r, rep: rep}
	}
	return hostiles.r, hostiles.rep
}

// ofHostile is the page of a hostile log.
func ofHostile(t *testing.T) *Page {
	t.Helper()
	hostileRead(t)
	return hostiles.page()
}

func (d *reading) page() *Page {
	if d.vehicle == nil {
		d.vehicle = pageOf(d.r, d.rep).Vehicles[0]
	}
	v := *d.vehicle // a page of several leaves things out
	return &Page{Vehicles: []*Vehicle{&v}, Cautions: "Low voltage only."}
}

func single(t *testing.T, make maker) *Page {
	t.Helper()
	return pageOf(analysed(t, make))
}

func pageOf(r *fit.Result, rep *findings.Report) *Page {
	log := logOf(r)
	log.Opening = "simulated: invented"
	v := Read(r, rep, log, Options{})
	return &Page{Vehicles: []*Vehicle{v}, Cautions: "Low voltage only."}
}

func written(t *testing.T, p *Page) []byte {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, p.Write(&out))
	return out.Bytes()
}
