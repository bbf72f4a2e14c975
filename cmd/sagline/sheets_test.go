package main

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// A tongue is how an invented club of one language writes.
type tongue struct {
	name                  string
	dive, date, time      string
	motors, volts, amps   string
	far, depth, temp      string
	pull, run, runTime    string
	trim, note, weather   string
	held, battery, engine string
	total, none, both     string
	port, starboard, up   string
	astern, yes, sunny    string
	work                  map[string]string // note: what it means
	dates, decimal        string
	separator             string
}

var tongues = []tongue{
	{"en", "Dive", "Date", "Time", "Motors", "Battery volts", "Amps", "Volts at ROV", "Depth", "Water temp", "Pull", "Distance", "Run time", "Hover weight", "Remarks", "Weather",
		"Tied up", "Battery", "Motor", "Total", "none", "both", "left", "right", "up", "rev", "x", "sunny, light wind",
		map[string]string{"re-did tether joint": "serviced tether+joint", "replaced the o-ring": "serviced seal", "took off 200 g lead": "ballast_g -200"}, "1/2/2006", ".", ","},
	{"de", "Tauchgang", "Datum", "Uhrzeit", "Motoren", "Akkuspannung", "Strom", "Spannung ROV", "Tiefe", "Wassertemperatur", "Zug", "Strecke", "Zeit", "Schwebegewicht", "Bemerkung", "Wetter",
		"Festgemacht", "Akku", "Motor", "Summe", "aus", "beide", "links", "rechts", "hoch", "zurück", "x", "sonnig, leichter Wind",
		map[string]string{"Stecker neu gelötet": "serviced joint", "Propeller gereinigt": "serviced propeller", "200 g Blei entfernt": "ballast_g -200"}, "2.1.2006", ",", ";"},
	{"fr", "Plongée", "Date", "Heure", "Moteurs", "Tension batterie", "Courant", "Tension ROV", "Profondeur", "Température eau", "Traction", "Distance", "Temps", "Poids hover", "Remarques", "Météo",
		"Attaché", "Batterie", "Moteur", "Total", "aucun", "tous", "gauche", "droite", "haut", "arrière", "oui", "beau, vent faible",
		map[string]string{"connecteur remplacé": "serviced joint", "hélice nettoyée": "serviced propeller", "ajouté 150 g de plomb": "ballast_g 150"}, "02/01/2006", ",", ";"},
	{"es", "Inmersión", "Fecha", "Hora", "Motores", "Tensión batería", "Corriente", "Tensión ROV", "Profundidad", "Temperatura agua", "Tracción", "Distancia", "Tiempo", "Peso equilibrio", "Observaciones", "Clima",
		"Atado", "Batería", "Motor", "Total", "ninguno", "todos", "izquierda", "derecha", "arriba", "atrás", "sí", "soleado, viento flojo",
		map[string]string{"conector cambiado": "serviced joint", "hélice limpiada": "serviced propeller", "quitado 200 g de plomo": "ballast_g -200"}, "02/01/2006", ",", ";"},
}

// A madeSheet is a spreadsheet that was made, what it says, and what a person
// who made it answers.
type madeSheet struct {
	text    string
	truth   []session.Row     // in columns of base units, a line each; every line has its dive, and its date
	answers map[string]string // by heading, by word, or "dates", "work"
}

// sheetMaker makes one sheet.
type sheetMaker struct {
	tongue
	rng   *rand.Rand
	dives []session.Dive
	madeSheet
}

// A field is one column of a sheet: what stands in it for a line, and what that
// means.
type field struct {
	heading string
	unit    string // "" where none is written
	cell    func(d *session.Dive, i int, truth session.Row) string
}

const messes = 10

// makeSheet makes the sheet of a tongue and a mess, of a seed.
func makeSheet(t *testing.T, lang tongue, mess int, seed uint64) madeSheet {
	t.Helper()
	v, err := vehicle.Read(strings.NewReader(simulate.VehicleText), "otter.toml")
	require.NoError(t, err)
	log := simulate.Log(v, simulate.Season{Dives: 3, Start: time.Date(2024, 5, 17, 0, 0, 0, 0, time.UTC), Seed: seed})
	s := &sheetMaker{tongue: lang, rng: rand.New(rand.NewPCG(seed, 7)), dives: log.Dives, madeSheet: madeSheet{answers: map[string]string{"work": "yes"}}}
	if lang.name == "en" {
		s.answers["dates"] = "month/day/year"
	}
	s.make(mess)
	return s.madeSheet
}

// number writes a value in a unit of per base units, and the truth of that.
func (s *sheetMaker) number(truth session.Row, column string, v session.Value, per float64, plus float64, decimals int) string {
	if !v.Measured() {
		return ""
	}
	text := fmt.Sprintf("%.*f", decimals, v.X/per+plus)
	var x float64
	fmt.Sscan(text, &x)
	truth[column] = fmt.Sprint((x - plus) * per)
	return strings.Replace(text, ".", s.decimal, 1)
}

// reading is a field of a reading.
func (s *sheetMaker) reading(heading, unit, column string, q quantity.Quantity, per float64, decimals int) field {
	return field{heading, unit, func(d *session.Dive, i int, truth session.Row) string {
		return s.number(truth, column, d.Lines[i].Readings[q], per, 0, decimals)
	}}
}

func (s *sheetMaker) diveField() field {
	return field{s.dive, "", func(d *session.Dive, i int, _ session.Row) string {
		if i > 0 {
			return ""
		}
		return d.Label
	}}
}

func (s *sheetMaker) dateField() field {
	return field{s.date, "", func(d *session.Dive, i int, _ session.Row) string {
		if i > 0 {
			return ""
		}
		return d.Date.Format(s.dates)
	}}
}

func (s *sheetMaker) clockField() field {
	return field{s.time, "", func(d *session.Dive, i int, truth session.Row) string {
		truth["time"] = time.Time{}.Add(10*time.Hour + time.Duration(d.Lines[i].Minute.X)*time.Minute).Format("15:04")
		return truth["time"]
	}}
}

func (s *sheetMaker) motorsField() field {
	return field{s.motors, "", func(d *session.Dive, i int, truth session.Row) string { return s.driven(d.Lines[i].Drives, truth) }}
}

func (s *sheetMaker) driven(drives []session.Drive, truth session.Row) string {
	truth["thrusters"] = "off"
	if len(drives) == 0 {
		return s.none
	}
	var words, names []string
	for _, d := range drives {
		word, name := map[string]string{"port": s.port, "starboard": s.starboard, "vertical": s.up}[d.Name], d.Name
		if d.Reversed {
			word, name = word+" "+s.astern, name+" astern"
		}
		words, names = append(words, word), append(names, name)
	}
	truth["thrusters"] = strings.Join(names, " + ")
	return strings.Join(words, " + ")
}

func (s *sheetMaker) depthField(unit string, per float64) field {
	return field{s.depth, unit, func(d *session.Dive, i int, truth session.Row) string {
		return s.number(truth, "depth_m", d.Lines[i].Depth, per, 0, 1)
	}}
}

func (s *sheetMaker) heldField() field {
	return field{s.held, "", func(d *session.Dive, i int, truth session.Row) string {
		if !d.Lines[i].Held {
			return ""
		}
		truth["held"] = "yes"
		return s.yes
	}}
}

func (s *sheetMaker) tempField(unit string) field {
	return field{s.temp, unit, func(d *session.Dive, i int, truth session.Row) string {
		switch {
		case i > 0:
			return ""
		case unit == "°F" || s.name == "en" && unit == "":
			return s.number(truth, "water_c", d.Lines[i].WaterC, 5.0/9, 32, 0)
		}
		return s.number(truth, "water_c", d.Lines[i].WaterC, 1, 0, 1)
	}}
}

// base are the fields that most sheets have.
func (s *sheetMaker) base() []field {
	return []field{s.diveField(), s.dateField(), s.clockField(), s.motorsField(), s.heldField(),
		s.reading(s.volts, "V", "battery_v", quantity.BatteryV, 1, 2), s.reading(s.amps, "mA", "current_a", quantity.CurrentA, 0.001, 0),
		s.reading(s.far, "V", "vehicle_v", quantity.VehicleV, 1, 2), s.depthField("m", 1), s.tempField("°C"),
		s.reading(s.pull, "kg", "pull_n", quantity.Pull, 9.80665, 2), s.reading(s.trim, "g", "trim_g", quantity.Trim, 1, 0)}
}
