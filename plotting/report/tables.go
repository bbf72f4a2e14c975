package report

import (
	"fmt"
	"strings"

	"sagline/plotting"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/session/units"
)

// A DiveRow is one dive of the table.
type DiveRow struct {
	Dive, Day, Happened string
	Far                 string   // readings far from those of a sound vehicle
	Values              []string // one for each quantity
	Notes               string
	Old                 bool // not among the newest dives, the only ones in print
}

// Newest returns the index of the newest dive.
func (v *Vehicle) Newest() int { return len(v.Dives) - 1 }

// printed is the number of newest dives that are printed.
const printed = 10

// mostNotes is the largest number of characters of one dive's notes.
const mostNotes = 600

func diveRows(r *fit.Result, rep *findings.Report, g *plotting.Grid, dated, notes bool) []DiveRow {
	var out []DiveRow
	for i := range rep.Dives {
		d := &rep.Dives[i]
		row := DiveRow{Dive: plotting.DiveLabel(d.Dive, 60), Happened: happened(rep, i), Far: strings.TrimPrefix(g.Says(i), plotting.AsPredicted), Old: i < len(rep.Dives)-printed}
		if i < r.Baseline {
			row.Happened = strings.TrimSuffix("baseline; "+row.Happened, "; ")
		}
		if dated {
			row.Day = plotting.Day(d.Date, "2 Jan 2006")
		}
		for _, t := range rep.Trends {
			value := "–"
			if e, ok := d.Estimates[t.Quantity]; ok {
				value = strings.ReplaceAll(e.In(rep.Unit(t.Quantity)).String(), "± ", "±\u00a0")
			}
			row.Values = append(row.Values, value)
		}
		if notes {
			row.Notes = diveNotes(r, i)
		}
		out = append(out, row)
	}
	return out
}

func diveNotes(r *fit.Result, dive int) string {
	var notes []string
	for _, l := range r.Dives[dive].Log.Lines {
		if l.Note != "" {
			notes = append(notes, l.Note)
		}
	}
	all := strings.Join(notes, "; ")
	if size := len([]rune(all)); size > mostNotes {
		return plotting.SafeText(all, mostNotes) + fmt.Sprintf(" (%d characters more in the log)", size-mostNotes)
	}
	return plotting.SafeText(all, mostNotes)
}

// columns names the quantities of the table of dives.
func columns(rep *findings.Report) []string {
	var out []string
	for _, t := range rep.Trends {
		words := t.Cause.Words
		if words = plotting.SafeText(words, 40); rep.Unit(t.Quantity).Name != "" {
			words += ", " + rep.Unit(t.Quantity).Name
		}
		out = append(out, words)
	}
	return out
}

// A Reading is one cell and its prediction, in the unit in which it was written.
type Reading struct {
	Dive                            string
	Line                            int
	Column, Measured, Expected, Sds string
	Verdict                         string // "" if as predicted
}

// mostReadings is the largest number of rows in the table of readings. A longer log shows only
// readings far from their predictions, and the newest of those.
const mostReadings = 1000

// readings returns the cells set aside beside the predictions of the dive's fit, and all cells
// beside those of a sound vehicle. cut words what was left out of all.
func readings(r *fit.Result, rep *findings.Report) (slips, all []Reading, cut string) {
	var far []Reading
	sound := r.NewComparison(rep.Levels...)
	for d := range r.Dives {
		label := plotting.DiveLabel(rep.Dives[d].Dive, 60)
		for _, s := range rep.Dives[d].SetAside {
			slips = append(slips, Reading{Dive: label, Line: s.Line, Column: s.Column,
				Measured: asWritten(s.Entered), Expected: plotting.Number(s.Expected, "")})
		}
		for _, c := range sound.Dive(d) {
			entered, want, sd := c.AsWritten()
			z := c.ZAsWritten()
			one := Reading{label, c.Line.Number, c.Line.Readings[c.Quantity].Column.Name, asWritten(entered), findings.Rounded(want, 10*sd),
				plotting.Signed(z), plotting.Verdict(c.Outlier, z)}
			all = append(all, one)
			if one.Verdict != "" {
				far = append(far, one)
			}
		}
	}
	if len(all) <= mostReadings {
		return slips, all, ""
	}
	cut = fmt.Sprintf("Of %d readings, the %d that lie far from a sound vehicle's.", len(all), len(far))
	if len(far) > mostReadings {
		cut = fmt.Sprintf("Of %d readings %d lie far from a sound vehicle's; the newest %d of them.", len(all), len(far), mostReadings)
		far = far[len(far)-mostReadings:]
	}
	return slips, far, cut
}

// asWritten writes a number with all digits that a person typed.
func asWritten(x float64) string { return units.Digits(x, 15) }

// mostSlips is the largest number of cells set aside that are printed.
const mostSlips = 6

// slips lists the newest cells set aside in one sentence, for print.
func slips(all []Reading) string {
	if len(all) == 0 {
		return ""
	}
	var out []string
	for _, r := range all[max(0, len(all)-mostSlips):] {
		out = append(out, fmt.Sprintf("dive %s, line %d, %s %s (expected %s)", r.Dive, r.Line, r.Column, r.Measured, r.Expected))
	}
	words := "Set aside: " + strings.Join(out, "; ")
	if more := len(all) - mostSlips; more > 0 {
		words += fmt.Sprintf("; %d more on the page", more)
	}
	return words + "."
}
