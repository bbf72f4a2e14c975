package session

import (
	"strings"
)

// builder turns rows into dives, carrying forward what carries.
type builder struct {
	log     *Log
	told    *told
	commas  bool
	in      inFile
	diary   diary
	watch   watch
	ballast float64            // g, running total
	at      []int              // of the header
	ran     map[string][]Drive // what thrusters cells said, one copy of each
}

// inFile is the column that the file has for each quantity; nil for none.
type inFile struct {
	dive, date, minute, clock, thrusters, lights, held, depth, tether, water, salinity *Column
	run, runTime, runBack, climbed, climbTime, ballast, serviced, note                 *Column
	readings                                                                           [Quantities]*Column
}

func newBuilder(log *Log, src *source, t *told) *builder {
	has := src.header.has
	in := inFile{
		dive: has["dive"], date: has["date"], minute: has["minute"], clock: has["clock"], thrusters: has["thrusters"],
		lights: has["lights"], held: has["held"], depth: has["depth"], tether: has["tether"], water: has["water"],
		salinity: has["salinity"], run: has["run"], runTime: has["run time"], runBack: has["run back"],
		climbed: has["climbed"], climbTime: has["climb time"], ballast: has["ballast"], serviced: has["serviced"], note: has["note"],
	}
	for q, name := range quantityNames {
		in.readings[q] = has[name]
	}
	return &builder{
		log: log, told: t, commas: !src.comma, in: in, at: src.header.at, ran: map[string][]Drive{},
		diary: diary{log: log, began: map[string]int{}, header: src.header.line},
	}
}

// add reads one row, every cell of it even where one is bad, so that all
// problems are told. A row of no known dive ends there.
func (b *builder) add(cells []string, line int) {
	r := &row{cells: cells, at: b.at, line: line, commas: b.commas, told: b.told}
	page := b.diary.page(r, b.in.dive, b.in.date)
	if len(page.lines) == 0 {
		b.watch = watch{}
	}
	l, before := page.next()
	l.Number = line
	b.circumstances(r, l)
	b.carry(r, l, before)
	b.readings(r, l)
}

// circumstances reads what holds for its own line alone.
func (b *builder) circumstances(r *row, l *Line) {
	l.Minute = b.watch.minute(r, b.in.minute, b.in.clock)
	l.Electrical, l.Drives = b.drives(r)
	l.Lights, l.Held = r.yes(b.in.lights, "on", "off"), r.yes(b.in.held, "yes", "no")
	l.Depth, _ = r.value(b.in.depth)
	l.Serviced = services(r, b.in.serviced)
	// The clone lets go of the rest of the row, whose text it is cut from.
	l.Note = strings.Clone(bare(strings.TrimSpace(r.text(b.in.note))))
}

// carry reads what holds until it changes.
func (b *builder) carry(r *row, l, before *Line) {
	l.TetherOut, _ = r.value(b.in.tether)
	l.WaterC, _ = r.value(b.in.water)
	salinity, _ := r.value(b.in.salinity)
	added, _ := r.value(b.in.ballast)
	b.ballast += added.X
	l.Salinity, l.BallastG = salinity.X, b.ballast
	if before == nil {
		return
	}
	if !l.TetherOut.Measured() {
		l.TetherOut = before.TetherOut
	}
	if !l.WaterC.Measured() {
		l.WaterC = before.WaterC
	}
	if !salinity.Measured() {
		l.Salinity = before.Salinity
	}
}

// readings fills in what instruments read; speeds may be timed.
func (b *builder) readings(r *row, l *Line) {
	for q, c := range b.in.readings {
		if c != nil {
			l.Readings[q], _ = r.value(c)
		}
	}
	b.timed(r, &l.Readings[Speed], timing{b.in.run, b.in.runTime, b.in.runBack, "run_m or run_ft", "run_s"}, b.in.readings[Speed])
	b.timed(r, &l.Readings[Climb], timing{b.in.climbed, b.in.climbTime, nil, "climb_m or climb_ft", "climb_s"}, b.in.readings[Climb])
}
