package drift_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"sagline/predict"
	"sagline/predict/drift"
	"sagline/predict/fit"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
)

// A kind is a kind of season: what is wrong from onset on, what the alarm for it
// is, and what else is a right answer.
type kind struct {
	name     string
	change   func(p predict.Params, n float64) // n counts the dives since the onset, from 1
	season   func(s *simulate.Season, onset int)
	file     func(real *vehicle.Vehicle) *vehicle.Vehicle
	quantity string   // of the alarm; "": none that blames the vehicle
	right    []string // findings that are right besides
}

const (
	seasonDives = 28
	firstOnset  = 10
)

func at(k int, x float64) func(predict.Params, float64) {
	return func(p predict.Params, _ float64) { p[k] += x }
}

func ramp(k int, x float64) func(predict.Params, float64) {
	return func(p predict.Params, n float64) { p[k] += x * n }
}

func one(i, what int, x float64) func(predict.Params, float64) {
	return at(predict.OfThruster(i, what), x)
}

// bare is the file of an owner who knows what it is made of and no number that
// takes an instrument.
func bare(real *vehicle.Vehicle) *vehicle.Vehicle {
	var b strings.Builder
	fmt.Fprintf(&b, "name = \"bare\"\n[battery]\nnominal_v = %g\ncapacity_ah = %g\n[tether]\nlength_m = %g\n[tether.power]\narea_mm2 = %g\n",
		real.Battery.NominalV, max(real.Battery.CapacityAh, 1), real.Tether.LengthM, real.Tether.Power.AreaMM2)
	for i := range real.Thrusters {
		t := &real.Thrusters[i]
		fmt.Fprintf(&b, "[[thruster]]\nname = %q\naxis = %q\narm_mm = %g\n", t.Name, t.Axis, t.ArmMM)
	}
	v, err := vehicle.Read(strings.NewReader(b.String()), vehicle.FileName)
	if err != nil {
		panic(err)
	}
	return v
}

// guessed is a file whose numbers are copied and guessed.
func guessed(seed uint64) func(real *vehicle.Vehicle) *vehicle.Vehicle {
	return func(real *vehicle.Vehicle) *vehicle.Vehicle {
		v := real.Clone()
		k := func(sd float64, n int) float64 {
			x := math.Sin(float64(seed)*12.9898+float64(n)*78.233) * 43758.5453
			return math.Exp(sd * 1.7 * (2*(x-math.Floor(x)) - 1))
		}
		a, n, r := k(0.25, 1), k(0.35, 2), k(0.3, 3)
		for i := range v.Thrusters {
			t := &v.Thrusters[i]
			t.TestA, t.TestN, t.ArmatureOhm = t.TestA*a, t.TestN*n, min(t.ArmatureOhm*r, 0.7*t.TestV/(t.TestA*a))
		}
		v.Hull.DragAreaM2 *= k(0.5, 4)
		v.Hull.ClimbDragAreaM2 *= k(0.5, 5)
		return v
	}
}

func with(f func(*simulate.Season)) func(*simulate.Season, int) {
	return func(s *simulate.Season, _ int) { f(s) }
}

var kinds = []kind{
	{name: "sound"},
	{name: "sound, sparse", season: with(func(s *simulate.Season) { s.Sparse = true })},
	{name: "sound, slips", season: with(func(s *simulate.Season) { s.Slips = 0.01 })},
	{name: "sound, sites", season: with(func(s *simulate.Season) { s.Sites = true })},
	{name: "sound, volts only", season: with(func(s *simulate.Season) { s.Without = simulate.VoltsOnly })},
	{name: "sound, winter", season: with(func(s *simulate.Season) { s.Winter = true })},
	{name: "sound, heat", season: with(func(s *simulate.Season) { s.HeatK = 45 })},
	{name: "sound, one way", season: with(func(s *simulate.Season) { s.StreamMS = 0.05 })},
	{name: "sound, blanks", season: with(func(s *simulate.Season) { s.Blanks = 0.3 })},
	{name: "sound, no depth", season: func(s *simulate.Season, onset int) { s.NoDepthFrom = onset }},
	{name: "sound, bare", file: bare},
	{name: "sound, everything", file: bare, season: with(func(s *simulate.Season) {
		s.Winter, s.HeatK, s.StreamMS, s.Blanks, s.Sparse = true, 45, 0.05, 0.3, true
	})},
	{name: "clamp gain", change: at(predict.LogClamp, 0.07), right: []string{"instrument:current_a"}},
	{name: "clamp zero", change: at(predict.ClampZeroA, 0.4), right: []string{"instrument:current_a"}},
	{name: "volt gain", change: at(predict.LogVolts, 0.015), right: []string{"instrument:voltage"}},
	{name: "vehicle volts", change: at(predict.LogVehicleV, -0.03), right: []string{"instrument:vehicle_v"}},
	{name: "tape short", change: at(predict.LogSpeed, 0.12), right: []string{"instrument:speed"}},
	{name: "ballast off", change: at(predict.TrimG, 70), right: []string{"ballast"}},
	{name: "salt", change: at(predict.SalinityPSU, 25), right: []string{"not_logged:salinity", "ballast"}},
	{name: "other battery", change: func(p predict.Params, _ float64) { p[predict.BatteryOhm] -= 0.012; p[predict.OpenCircuitV] += 0.3 }, right: []string{"not_logged:battery"}},
	{name: "lights", change: at(predict.UnloggedA, 0.8), right: []string{"not_logged:lights"}},
	{name: "propeller", change: func(p predict.Params, _ float64) {
		p[predict.LogPitch] += 0.15
		p[predict.LogThrust] += 0.15
		p[predict.LogTorque] += 0.22
	}, right: []string{"not_logged:propeller"}},
	{name: "snag, one dive", change: func(p predict.Params, n float64) {
		if n == 1 {
			p[predict.LogDrag] += 0.4
		}
	}},
	{name: "trapped air, one dive", change: func(p predict.Params, n float64) {
		if n == 1 {
			p[predict.TrimG] += 60
		}
	}},
	{name: "loop ramp", change: ramp(predict.LoopOhm, 0.02), quantity: "excess_resistance_ohm", right: []string{"power_loop"}},
	{name: "loop ramp, sparse", season: with(func(s *simulate.Season) { s.Sparse = true }), change: ramp(predict.LoopOhm, 0.02), quantity: "excess_resistance_ohm", right: []string{"power_loop"}},
	{name: "loop ramp, everything", file: bare, season: with(func(s *simulate.Season) {
		s.Winter, s.HeatK, s.StreamMS, s.Blanks, s.Sparse = true, 45, 0.05, 0.3, true
	}), change: ramp(predict.LoopOhm, 0.02), quantity: "excess_resistance_ohm", right: []string{"power_loop"}},
	{name: "loop step", change: at(predict.LoopOhm, 0.15), quantity: "excess_resistance_ohm", right: []string{"power_loop"}},
	{name: "thrust ramp", change: ramp(predict.LogThrust, -0.02), quantity: "thrust_factor", right: []string{"thrust"}},
	{name: "thrust step", change: at(predict.LogThrust, -0.15), quantity: "thrust_factor", right: []string{"thrust"}},
	{name: "one propeller", change: one(0, predict.LogOneThrust, -0.35), quantity: "thrust_factor", right: []string{"thrust"}},
	{name: "friction ramp", change: ramp(predict.FrictionA, 0.03), quantity: "friction_a", right: []string{"friction"}},
	{name: "one friction", change: func(p predict.Params, n float64) { p[predict.OfThruster(1, predict.OneFrictionA)] += 0.06 * n }, quantity: "friction_a:starboard", right: []string{"friction:starboard"}},
	{name: "drag ramp", change: ramp(predict.LogDrag, 0.06), quantity: "drag_factor", right: []string{"drag"}},
	{name: "drag step", change: at(predict.LogDrag, 0.37), quantity: "drag_factor", right: []string{"drag"}},
	{name: "sparse: thrust ramp", season: with(func(s *simulate.Season) { s.Sparse = true }), change: ramp(predict.LogThrust, -0.02), quantity: "thrust_factor", right: []string{"thrust"}},
	{name: "sparse: thrust step", season: with(func(s *simulate.Season) { s.Sparse = true }), change: at(predict.LogThrust, -0.15), quantity: "thrust_factor", right: []string{"thrust"}},
	{name: "sparse: drag ramp", season: with(func(s *simulate.Season) { s.Sparse = true }), change: ramp(predict.LogDrag, 0.06), quantity: "drag_factor", right: []string{"drag"}},
	{name: "sparse: drag step", season: with(func(s *simulate.Season) { s.Sparse = true }), change: at(predict.LogDrag, 0.37), quantity: "drag_factor", right: []string{"drag"}},
	{name: "sparse: tape long", season: with(func(s *simulate.Season) { s.Sparse = true }), change: at(predict.LogSpeed, -0.13), right: []string{"instrument:speed"}},
	{name: "sparse: volts only, loop ramp", season: with(func(s *simulate.Season) { s.Without = simulate.VoltsOnly }), change: ramp(predict.LoopOhm, 0.04), quantity: "excess_resistance_ohm", right: []string{"power_loop"}},
	{name: "leak ramp", change: ramp(predict.TrimG, -5), quantity: "ingress_g", right: []string{"ingress"}},
	{name: "leak step", change: at(predict.TrimG, -40), quantity: "ingress_g", right: []string{"ingress"}},
	{name: "battery ramp", change: ramp(predict.BatteryOhm, 0.002), quantity: "battery_resistance_ohm", right: []string{"battery"}},
	{name: "branch", change: one(0, predict.BranchOhm, 0.2), quantity: "branch_excess_ohm:port", right: []string{"branch:port"}},
	{name: "weak motor", change: one(1, predict.LogWeakness, 0.12), quantity: "motor:starboard", right: []string{"motor:starboard"}},
	{name: "jam", season: func(s *simulate.Season, onset int) {
		s.Jam = func(d int) int {
			if d >= onset {
				return 1
			}
			return 0
		}
	}, quantity: "stall:port", right: []string{"stall:port"}},
}

// An outcome is what one season showed.
type outcome struct {
	blamed, wrong, misnamed []string // alarms that blame the vehicle, that are wrong, the finding that is
	delay                   float64  // dives from the onset to the alarm, NaN for none
	named, told             bool     // the right finding first; a finding at all
	claims                  []claim
}

// A claim is a finding with its probability, and whether it was right.
type claim struct {
	p     float64
	right bool
}

func ofVehicle(quantity string) bool {
	return !strings.HasPrefix(quantity, "instrument") && !strings.HasPrefix(quantity, "ballast") && !strings.HasPrefix(quantity, "not_logged")
}

// try simulates and analyses one season.
func try(k *kind, world string, seed uint64) outcome {
	real := simulate.Fleet(seed)
	onset := firstOnset + int(seed%8)
	s := simulate.Season{Dives: seasonDives, Start: time.Date(2025, 3, 1, 0, 0, 0, 0, time.UTC), Seed: seed * 7919,
		Drift: func(d int, p predict.Params) {
			if k.change != nil && d >= onset {
				k.change(p, float64(d-onset+1))
			}
		}}
	switch world {
	case "rough":
		s.Rough = true
	case "measured":
		s.World, s.Meters = simulate.NewMeasured(real, seed), true
	}
	if k.season != nil {
		k.season(&s, onset)
	}
	log := simulate.Log(real, s)
	file := real
	if k.file != nil {
		file = k.file(real)
	}
	if os.Getenv("SAVE") != "" {
		dir := filepath.Join(os.Getenv("SAVE"), fmt.Sprint(seed))
		_ = os.MkdirAll(dir, 0o755)
		_ = os.WriteFile(filepath.Join(dir, "vehicle.toml"), file.Text(), 0o644)
		columns := simulate.Columns
		if s.StreamMS > 0 || s.Meters {
			columns = append(slices.Clone(columns), "run_m", "run_s", "run_back_s")
			columns = slices.DeleteFunc(columns, func(c string) bool { return c == "speed_m_s" })
		}
		if f, err := os.Create(filepath.Join(dir, "dives.csv")); err == nil {
			_ = session.Write(f, columns, log)
			_ = f.Close()
		}
	}
	out := outcome{delay: math.NaN()}
	rep := analyse(file, log)
	if rep == nil {
		out.wrong = append(out.wrong, "refused")
		return out
	}
	for _, a := range rep.Alarms {
		raised, _ := strconv.Atoi(a.RaisedDive)
		switch {
		case a.Quantity == k.quantity && raised >= onset:
			if math.IsNaN(out.delay) {
				out.delay = float64(raised - onset)
			}
		case ofVehicle(a.Quantity):
			out.blamed = append(out.blamed, a.Quantity+"@"+a.RaisedDive)
			out.wrong = append(out.wrong, a.Quantity)
		case k.quantity != "" || len(k.right) == 0 || !slices.ContainsFunc(k.right, func(r string) bool { return strings.HasPrefix(a.Quantity, r) }):
			out.wrong = append(out.wrong, a.Quantity)
		}
	}
	out.told = len(rep.Findings) > 0
	if out.told {
		f := rep.Findings[0]
		out.named = isRight(k, f.Fault)
		for _, alt := range f.Alternatives {
			if k.quantity == "" && alt.Probability >= 0.2 && isRight(k, alt.Fault) {
				out.named = true
			}
		}
		if !out.named {
			out.misnamed = append(out.misnamed, f.Fault)
		}
	}
	// what is said on a day picked at random
	n := fitBaseline + int(seed*31%uint64(seasonDives-fitBaseline))
	cut := &session.Log{File: log.File, Dives: log.Dives[:n]}
	if rep := analyse(file, cut); rep != nil {
		for _, f := range rep.Findings {
			out.claims = append(out.claims, claim{f.Probability, n >= onset && isRight(k, f.Fault)})
		}
	}
	return out
}

const fitBaseline = 6

func isRight(k *kind, fault string) bool {
	return slices.ContainsFunc(k.right, func(r string) bool { return strings.HasPrefix(fault, r) })
}

func analyse(v *vehicle.Vehicle, log *session.Log) *drift.Report {
	r, err := fit.Fit(v, log, nil)
	if err != nil {
		return nil
	}
	return drift.Analyse(r)
}

// TestSeasons prints what many seasons of each kind show: WORLD design, rough or
// measured, SEASONS of each, KIND a part of the names.
func TestSeasons(t *testing.T) {
	n, err := strconv.Atoi(os.Getenv("SEASONS"))
	if err != nil {
		t.Skip("SEASONS says how many")
	}
	world, only := os.Getenv("WORLD"), os.Getenv("KIND")
	var claims []claim
	for i := range kinds {
		k := &kinds[i]
		if only != "" && !strings.Contains(k.name, only) {
			continue
		}
		outs := make([]outcome, n)
		var next sync.Mutex
		at := 0
		var all sync.WaitGroup
		for range runtime.GOMAXPROCS(0) {
			all.Go(func() {
				for {
					next.Lock()
					i := at
					at++
					next.Unlock()
					if i >= n {
						return
					}
					kk := *k
					if kk.name == "sound, guessed" {
						kk.file = guessed(uint64(i + 1))
					}
					outs[i] = try(&kk, world, uint64(i+1))
				}
			})
		}
		all.Wait()
		var delays []float64
		var blamed, wrong, named, told int
		reasons := map[string]int{}
		for i, o := range outs {
			if len(o.blamed) > 0 {
				blamed++
			}
			if len(o.wrong) > 0 {
				wrong++
			}
			if o.named {
				named++
			}
			if o.told {
				told++
			}
			if math.IsNaN(o.delay) {
				o.delay = 99
			}
			delays = append(delays, o.delay)
			for _, w := range o.wrong {
				reasons[w]++
				if os.Getenv("SAVE") != "" {
					fmt.Println("season", i+1, w)
				}
			}
			for _, w := range o.misnamed {
				reasons["named "+w]++
			}
			claims = append(claims, o.claims...)
		}
		slices.Sort(delays)
		fmt.Printf("%-24s blamed %3d wrong %3d told %3d named %3d of %d", k.name, blamed, wrong, told, named, n)
		if k.quantity != "" {
			fmt.Printf("  delay %2.0f (%2.0f)", delays[n/2], delays[n*9/10])
		}
		var words []string
		for w, c := range reasons {
			words = append(words, fmt.Sprintf("%s %d", w, c))
		}
		slices.Sort(words)
		fmt.Println(" ", strings.Join(words, ", "))
	}
	for _, b := range [][2]float64{{0.5, 0.8}, {0.8, 0.95}, {0.95, 0.99}, {0.99, 1.1}} {
		right, all, sum := 0, 0, 0.0
		for _, c := range claims {
			if c.p >= b[0] && c.p < b[1] {
				all++
				sum += c.p
				if c.right {
					right++
				}
			}
		}
		fmt.Printf("claims of %.2f to %.2f: right %d of %d, mean claim %.3f\n", b[0], b[1], right, all, sum/float64(max(all, 1)))
	}
}
