package session

import (
	"sagline/session/quantity"
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
	dive, date, battery, minute, clock, thrusters, lights, held, depth, tether, water, salinity *Column
	run, runTime, runBack, climbed, climbTime, ballast, serviced, note                          *Column
	readings                                                                                    [quantity.Count]*Column
}

func newBuilder(log *Log, src *source, t *told) *builder {
	has := src.header.has
	in := inFile{
		dive: has["dive"], date: has["date"], battery: has["battery"], minute: has["minute"], clock: has["clock"], thrusters: has["thrusters"],
		lights: has["lights"], held: has["held"], depth: has["depth"], tether: has["tether"], water: has["water"],
		salinity: has["salinity"], run: has["run"], runTime: has["run time"], runBack: has["run back"],
		climbed: has["climbed"], climbTime: has["climb time"], ballast: has["ballast"], serviced: has["serviced"], note: has["note"],
	}
	for q := range quantity.Count {
		in.readings[q] = has[q.String()]
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
	page := b.diary.page(r, b.in)
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
	l.Put(b.watch.minute(r, b.in.minute, b.in.clock))
	l.Electrical, l.Drives = b.drives(r)
	l.Lights, l.Held = r.yes(b.in.lights, "on", "off"), r.yes(b.in.held, "yes", "no")
	b.put(r, l, b.in.depth)
	l.Serviced = services(r, b.in.serviced)
	// The clone lets go of the rest of the row, whose text it is cut from.
	l.Note = strings.Clone(bare(strings.TrimSpace(r.text(b.in.note))))
}

// carry reads what holds until it changes.
func (b *builder) carry(r *row, l, before *Line) {
	out, warm := b.put(r, l, b.in.tether), b.put(r, l, b.in.water)
	salinity, _ := r.value(b.in.salinity)
	added, _ := r.value(b.in.ballast)
	b.ballast += added.X
	l.Salinity, l.BallastG = salinity.X, b.ballast
	if before == nil {
		return
	}
	if !out {
		l.TetherOut = before.TetherOut
	}
	if !warm {
		l.WaterC = before.WaterC
	}
	if !salinity.Measured() {
		l.Salinity = before.Salinity
	}
}

// readings fills in what instruments read; speeds may be timed.
func (b *builder) readings(r *row, l *Line) {
	for _, c := range b.in.readings {
		if c != nil {
			b.put(r, l, c)
		}
	}
	b.timed(r, l, timing{quantity.Speed, b.in.run, b.in.runTime, b.in.runBack, "run_m or run_ft", "run_s"}, b.in.readings[quantity.Speed])
	b.timed(r, l, timing{quantity.Climb, b.in.climbed, b.in.climbTime, nil, "climb_m or climb_ft", "climb_s"}, b.in.readings[quantity.Climb])
}

// put reads a row's number into its line and says whether there was one.
func (b *builder) put(r *row, l *Line, c *Column) bool {
	v, _ := r.value(c)
	l.Put(v)
	return v.Measured()
}
