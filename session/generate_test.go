package session

import (
	"fmt"
	"math"
	"strings"
	"time"

	"pgregory.net/rapid"

	"sagline/session/quantity"
)

// metric and imperial are columns that can hold any log, in either units.
var (
	metric = strings.Fields(`dive date battery minute time thrusters lights held battery_v current_a vehicle_v depth_m tether_out_m
		speed_m_s run_m run_s run_back_s climb_m_s climb_m climb_s trim_g pull_n loop_ohm insulation_megohm water_c salinity_psu
		ballast_g serviced note`)
	imperial = strings.Fields(`note serviced battery ballast_oz salinity_psu water_f insulation_megohm loop_ohm pull_lbf trim_oz climb_s
		climb_ft climb_ft_s run_back_s run_s run_ft speed_kn tether_out_ft depth_ft vehicle_v current_a battery_v held lights
		thrusters time minute date dive`)
)

// aLog draws a log as Read makes them from metric columns.
func aLog(t *rapid.T) *Log {
	log := &Log{}
	day := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	ballast := 0.0
	for _, label := range rapid.SliceOfNDistinct(aText(1), 0, 4, rapid.ID).Draw(t, "labels") {
		day = day.AddDate(0, 0, rapid.IntRange(0, 40).Draw(t, "days"))
		d := Dive{Label: label, Date: day}
		if n := len(log.Dives); n > 0 {
			d.Battery = log.Dives[n-1].Battery
		}
		if b := aText(0).Draw(t, "battery"); b != "" {
			d.Battery = b
		}
		clock := rapid.Bool().Draw(t, "clock")
		for range rapid.IntRange(1, 6).Draw(t, "lines") {
			l := Line{Number: len(d.Lines)}
			ballast += drawn(t, "ballast_g", -500, 500).X
			l.BallastG = ballast
			circumstances(t, &l, d.Lines, clock)
			readings(t, &l)
			d.Lines = append(d.Lines, l)
		}
		log.Dives = append(log.Dives, d)
	}
	return log
}

// aText draws what a text cell may hold: no blanks around it and no line ends
// but LF. least is its length.
func aText(least int) *rapid.Generator[string] {
	chars := rapid.StringOfN(rapid.SampledFrom([]rune("a1 ,;'\"#=+-@µ\u2007")), least, 9, -1)
	return rapid.Map(chars, clean).Filter(func(s string) bool { return len(s) >= least })
}

// drawn is a value as a person writes it, with a few decimals.
func drawn(t *rapid.T, column string, lowest, highest int) Value {
	if !rapid.Bool().Draw(t, column+" measured") {
		return Value{}
	}
	c := byName[column]
	scale := math.Pow(10, float64(rapid.IntRange(0, 3).Draw(t, "decimals")))
	x := float64(rapid.IntRange(lowest*int(scale), highest*int(scale)).Draw(t, column)) / scale
	return Value{X: c.ToBase(x), Entered: x, Column: c}
}

func circumstances(t *rapid.T, l *Line, before []Line, clock bool) {
	l.Put(drawn(t, "depth_m", 0, 100))
	l.Put(drawn(t, "tether_out_m", 0, 200))
	l.Put(drawn(t, "water_c", -2, 35))
	salinity := drawn(t, "salinity_psu", 0, 40)
	l.Salinity = salinity.X
	l.Electrical = rapid.Bool().Draw(t, "electrical")
	l.Lights, l.Held = rapid.Bool().Draw(t, "lights"), rapid.Bool().Draw(t, "held")
	if l.Electrical {
		for i := range rapid.IntRange(0, 3).Draw(t, "drives") {
			l.Drives = append(l.Drives, Drive{fmt.Sprintf("=x %d", i), rapid.Bool().Draw(t, "reversed")})
		}
	}
	l.Serviced = rapid.SliceOfNDistinct(rapid.SampledFrom(Serviceable), -1, 3, rapid.ID).Draw(t, "serviced")
	note := rapid.Custom(func(t *rapid.T) string {
		return strings.TrimSpace(aText(0).Draw(t, "a") + "\n" + aText(0).Draw(t, "b"))
	})
	l.Note = note.Draw(t, "note")
	if len(before) > 0 {
		carried(l, &before[len(before)-1], salinity.Measured())
	}
	l.Put(aMinute(t, before, clock))
}

func carried(l, last *Line, salinity bool) {
	if !l.TetherOut.Measured() {
		l.Put(last.TetherOut)
	}
	if was := last.WaterC; !l.WaterC.Measured() || l.WaterC.X == was.X && was.Measured() {
		l.Put(was)
	}
	if !salinity {
		l.Salinity = last.Salinity
	}
}

// aMinute draws a time not before the last that was measured; the first that a
// clock tells is 0.
func aMinute(t *rapid.T, before []Line, clock bool) Value {
	gap := drawn(t, "minute", 0, 60)
	if !gap.Measured() {
		return gap
	}
	last := Value{}
	for _, l := range before {
		if l.Minute.Measured() {
			last = l.Minute
		}
	}
	if !clock {
		x := last.X + gap.X
		return Value{X: x, Entered: x, Column: byName["minute"]}
	}
	whole := math.Floor(gap.X)
	if !last.Measured() {
		return Value{Entered: 22*60 + whole, Column: byName["time"]}
	}
	return Value{X: last.X + whole, Entered: math.Mod(last.Entered+whole, dayMinutes), Column: byName["time"]}
}

func readings(t *rapid.T, l *Line) {
	for _, column := range strings.Fields("battery_v current_a vehicle_v loop_ohm insulation_megohm pull_n") {
		l.Put(drawn(t, column, 0, 200))
	}
	l.Put(drawn(t, "trim_g", -900, 900))
	speed, climb := drawn(t, "speed_m_s", 0, 3), drawn(t, "climb_m_s", -3, 3)
	run, out, back := drawn(t, "run_m", 1, 50), drawn(t, "run_s", 1, 90), drawn(t, "run_back_s", 1, 90)
	rise, took := drawn(t, "climb_m", -20, 20), drawn(t, "climb_s", 1, 90)
	if l.Put(speed); run.Measured() && out.Measured() {
		l.PutRun(quantity.Speed, run, out, back)
	}
	if l.Put(climb); rise.Measured() && took.Measured() {
		l.PutRun(quantity.Climb, rise, took, Value{})
	}
}
