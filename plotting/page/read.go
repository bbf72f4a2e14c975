package page

import (
	"fmt"
	"strings"

	"sagline/plotting"
	"sagline/predict"
	"sagline/predict/drift"
	"sagline/predict/fit"
	"sagline/session/problem"
)

// Options are what a page is to say and to leave out.
type Options struct {
	Opening                string   // what the log says of itself
	Folder                 string   // of the logbook, told where vehicles share a name
	Search                 []string // how searches for a fault's spot stand
	LeaveNotes, LeaveDates bool     // for sharing in public
}

// budgetC is the water that the budget is worked out for, °C.
const budgetC = 15.0

// Read is what a page shows of a fitted log and its report.
func Read(r *fit.Result, rep *drift.Report, o Options) (*Vehicle, error) {
	dated := !o.LeaveDates
	v := &Vehicle{Name: plotting.Shown(rep.Vehicle, 120), Folder: plotting.Shown(o.Folder, 60),
		Span: span(rep.Dives, dated), Opening: opening(o), Open: len(rep.Findings) > 0,
		Lines: append(headlines(r, rep, dated), history(rep, dated)...), Nearest: nearest(rep), Dated: dated, Notes: !o.LeaveNotes && noted(r)}
	for _, f := range rep.Findings {
		c := Check{Fault: plain(f.Fault), Sure: drift.Sure(f.Probability), Next: plotting.Shown(f.CheckNext, 300)}
		for _, e := range f.Evidence {
			c.Because = append(c.Because, plotting.Shown(e, 200))
		}
		v.Checks = append(v.Checks, c)
	}
	for _, m := range o.Search {
		v.Search = append(v.Search, plotting.Shown(m, 400))
	}
	for _, m := range rep.Remarks {
		v.Remarks = append(v.Remarks, plotting.Shown(m, 400))
	}
	m := r.Model
	v.Water = strings.ReplaceAll(rep.Units.Show(budgetC, "°C", 0), " ", "\u00a0")
	v.Shares = plotting.Shares(m, predict.Condition{Electrical: true, TetherOutM: m.Vehicle.Tether.LengthM, WaterC: budgetC}, drift.Present(r, rep))
	if len(v.Shares) > 0 {
		v.Budget = budgetPicture(v.Shares)
	}
	if len(rep.Dives) == 0 {
		return v, nil
	}
	return v, v.season(r, rep)
}

// season shows the dives: as pictures, as readings and as a table.
func (v *Vehicle) season(r *fit.Result, rep *drift.Report) error {
	line, err := plotting.ReadTimeline(rep.Dives, v.Dated)
	if err != nil {
		return err
	}
	v.Trends = append(v.Trends, seasonPicture(rep, line))
	for _, t := range rep.Trends {
		trace, err := plotting.ReadTrace(rep, t.Quantity)
		if err != nil {
			return err
		}
		v.Trends = append(v.Trends, trendPicture(rep, trace, line))
	}
	v.readings(r, rep, line)
	v.Titles, v.Dives = columns(rep), diveRows(r, rep, v.Dated, v.Notes)
	return nil
}

func (v *Vehicle) readings(r *fit.Result, rep *drift.Report, line *plotting.Timeline) {
	pairs := plotting.Pairs(r)
	all := tally{}
	for _, q := range pairs {
		all.add(q)
	}
	v.Against = againstPictures(rep, pairs, line)
	v.Aside, v.Readings, v.Cut = readings(r, rep)
	v.Told = told(v.Aside)
	v.Far = fmt.Sprintf("%d of %s lie more than %g standard deviations from what a sound vehicle would have shown; %d were set aside as slips of the pen.",
		all.far, problem.Count(all.all, "reading"), plotting.NearSD, len(v.Aside))
}

// noted says whether a log has any note.
func noted(r *fit.Result) bool {
	for i := range r.Dives {
		if diveNotes(r, i) != "" {
			return true
		}
	}
	return false
}

// opening is the log's own first words; that it is simulated is said even
// where notes are left out.
func opening(o Options) string {
	if !o.LeaveNotes {
		return plotting.Shown(o.Opening, 300)
	}
	if strings.HasPrefix(strings.ToLower(o.Opening), "simulated") {
		return "simulated"
	}
	return ""
}
