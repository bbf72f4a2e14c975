package importer

import (
	"strings"
	"sync"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// vocabulary is what headings call a quantity of the table of columns, in
// English, German, French, Spanish and Dutch: phrases separated by commas,
// each of stems that must all begin a word of the heading (short ones must be
// the word). It is common practice, no source.
var vocabulary = []struct{ quantity, phrases string }{
	{"dive", "dive, dive no, dive nr, dive number, dive id, dive label, tauchgang, tauchgang nr, tg, tg nr, plongee, inmersion, duik, outing, mission, session"},
	{"date", "date, dive date, datum, fecha, day, tag, jour, dia"},
	{"battery", "battery no, battery nr, battery label, battery used, battery id, akku nr, batterie nr"},
	{"minute", "timestamp, elapsed, time elapsed, elapsed time, minute, minutes, min, dive time, tauchzeit, time since start, run time elapsed, t, time, zeit, temps, tiempo, tijd"},
	{"clock", "timestamp, date time, time, time of day, clock, clock time, local time, uhrzeit, zeit, heure, hora, tijd"},
	{"thrusters", "thruster, thrusters running, thrusters on, motor, motoren, motors on, motors running, moteur, antrieb, propulsor"},
	{"lights", "light, lights on, lamp, licht, lampe, scheinwerfer, lumiere, luces, luz"},
	{"held", "held, held still, tied, tied up, moored, dock test, pull test, festgehalten, standversuch, amarre"},
	{"battery_v", "batt, batt volt, battery volt, volt battery, batt v, batt u, bat, bat volt, bat v, akku, akku spannung, akkuspannung, batteriespannung, spannung batterie, " +
		"supply volt, surface volt, topside volt, source volt, volt, spannung, tension, tension batterie, voltaje, u batt, v batt, v bat, vbat, vbatt, ubat, ubatt"},
	{"current_a", "current, current draw, battery current, supply current, total current, amps, amp, amperage, ampere, strom, stromstarke, gesamtstrom, batteriestrom, " +
		"courant, corriente, stroom, i, ibat, ibatt, i batt"},
	{"vehicle_v", "vehicle volt, volt vehicle, vehicle, rov volt, volt rov, sub volt, far end volt, remote volt, bottom volt, tether end volt, end volt, fahrzeug spannung, " +
		"fahrzeugspannung, spannung fahrzeug, spannung unten, tension vehicule"},
	{"depth", "depth, tiefe, tauchtiefe, wassertiefe, profondeur, profundidad, diepte"},
	{"tether", "tether, tether out, tether length, cable out, paid out, line out, umbilical, kabel, kabellange, leine, leine aus, cable sorti"},
	{"speed_m_s", "speed, velocity, boat speed, geschwindigkeit, tempo, fahrt, vitesse, velocidad, snelheid"},
	{"run", "run, run length, run distance, distance, course length, strecke, messstrecke, distancia, afstand"},
	{"run time", "run time, run, time for run, time out, out time, stopwatch, lap time, laufzeit, fahrzeit, zeit hin, time over course"},
	{"run back", "run back, back, time back, back time, return time, run return, zeit zuruck, ruckweg, retour"},
	{"climb_m_s", "climb, climb rate, climb speed, ascent rate, ascent speed, vertical speed, rise speed, steiggeschwindigkeit, steigrate, remontee"},
	{"climbed", "climb, climbed, climb height, ascent, ascent height, rise, steighohe"},
	{"climb time", "climb time, climb, ascent time, rise time, steigzeit"},
	{"trim_g", "trim, trim weight, hover weight, buoyancy, net buoyancy, auftrieb, flottabilite, flotabilidad"},
	{"pull_n", "pull, bollard pull, bollard, static pull, thrust, scale, zug, zugkraft, schub, poussee, traction, empuje"},
	{"loop_ohm", "loop, loop resistance, loop r, resistance, widerstand, schleifenwiderstand"},
	{"insulation_megohm", "insulation, insulation resistance, isolation, isolationswiderstand, leakage resistance, megger, isolement"},
	{"water", "water temp, water, temp, temp water, wassertemperatur, temperatur, temperature eau, temperatura"},
	{"salinity", "salinity, salt, salzgehalt, salinitat, salinite, salinidad"},
	{"ballast", "ballast, ballast added, ballast change, weight added, lead, lead added, blei, lest, lastre"},
	{"serviced", "serviced, service, service done, repair, repaired, maintenance, work done, wartung, reparatur, repariert, entretien, mantenimiento"},
	{"note", "note, notes, remark, remarks, comment, comments, bemerkung, notiz, kommentar, anmerkung, remarque, commentaire, observacion, opmerking"},
}

// phrases are the vocabulary taken apart.
var phrases = sync.OnceValue(func() (out []phrase) {
	for _, v := range vocabulary {
		for p := range strings.SplitSeq(v.phrases, ",") {
			out = append(out, phrase{v.quantity, strings.Fields(p)})
		}
	}
	return out
})

type phrase struct {
	quantity string
	stems    []string
}

// filler says nothing of what a column holds.
var filler = map[string]bool{"in": true, "the": true, "of": true, "at": true, "der": true, "die": true, "das": true, "de": true, "la": true,
	"el": true, "nr": true, "no": true, "measured": true, "reading": true, "value": true, "wert": true, "und": true, "and": true}

// stemLength is how long a stem is at least to begin a longer word.
const stemLength = 4

func begins(word, stem string) bool {
	return word == stem || len(stem) >= stemLength && strings.HasPrefix(word, stem)
}

// covers is how many words of a heading a phrase explains, and what share of
// their letters: thrusters are rather a thruster than a thrust. Both are 0
// where one of its stems is missing.
func (p phrase) covers(words []string) (n int, letters float64) {
	used := make([]bool, len(words))
	stems, whole := 0, 0
next:
	for _, stem := range p.stems {
		for i, w := range words {
			if !used[i] && begins(w, stem) {
				used[i] = true
				stems, whole = stems+len(stem), whole+len(w)
				continue next
			}
		}
		return 0, 0
	}
	return len(p.stems), float64(stems) / float64(whole)
}

// wordsOf are a heading's words: lower case, without accents, cut where a
// capital follows a small letter.
func wordsOf(text string) []string {
	var b strings.Builder
	small := false
	for _, r := range norm.NFD.String(strings.ReplaceAll(text, "ß", "ss")) {
		if unicode.Is(unicode.Mn, r) {
			continue
		}
		if unicode.IsUpper(r) && small {
			b.WriteByte(' ')
		}
		small = unicode.IsLower(r)
		b.WriteRune(unicode.ToLower(r))
	}
	return strings.FieldsFunc(b.String(), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsNumber(r) })
}
