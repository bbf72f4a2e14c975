package report

import (
	"slices"
	"strings"

	"sagline/plotting"
	"sagline/predict"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/outlook"
	"sagline/session"
)

// Options say what a page includes.
type Options struct {
	Folder                 string   // of the logbook, shown if vehicles share a name
	Search                 []string // state of searches for a fault's spot
	LeaveNotes, LeaveDates bool     // for sharing in public
}

// budgetC is the water temperature for the budget and the margins, °C.
const budgetC = 15.0

// Read returns the content of a page for a fitted log and its report.
func Read(r *fit.Result, rep *findings.Report, log *session.Log, o Options) *Vehicle {
	dated := !o.LeaveDates && slices.ContainsFunc(rep.Dives, func(d findings.Dive) bool { return d.Date != "" })
	noted := log.Any(func(l session.Line) bool { return l.Note != "" })
	gauges := plotting.ReadGauges(rep)
	v := &Vehicle{Name: plotting.SafeText(rep.Vehicle, 120), Folder: plotting.SafeText(o.Folder, 60),
		Period: period(rep.Dives, dated), Opening: opening(log, o), Lines: append(headlines(r, rep), history(rep, dated)...),
		Search: texts(o.Search), Remarks: texts(remarks(r, rep)), Nearest: plotting.Nearest(gauges), Dated: dated, Notes: !o.LeaveNotes && noted}
	reported := rep.Reported()
	for i := range reported {
		v.Findings = append(v.Findings, finding(r, rep, &reported[i], dated))
		v.Jammed = v.Jammed || reported[i].Cause.Fails.Jam()
	}
	v.gauges(gauges)
	v.Margins, v.Judged = texts(plotting.NotMet(r, rep, log, budgetC)), rep.Judged
	v.MarginsOn = plotting.Sentence(outlook.WorstOf(r))
	m := r.Model
	if rep.Judged {
		v.Drawn = plotting.DrawVehicle(m.Vehicle, rep, plotting.OnPage).Picture()
	}
	v.Water = strings.ReplaceAll(rep.Units.Show(budgetC, "°C", 0), " ", "\u00a0")
	v.Shares = plotting.Shares(m, predict.Condition{Electrical: true, TetherOutM: m.Vehicle.Tether.LengthM, WaterC: budgetC}, outlook.Present(r, rep), m.Combinations())
	if len(v.Shares) > 0 {
		v.Budget = plotting.BudgetPicture(v.Shares, plotting.OnPage, false)
	}
	if len(rep.Dives) == 0 {
		return v
	}
	if repair := plotting.ReadRepair(r, rep); repair != nil {
		v.Repair = repair.Picture(plotting.OnPage)
	}
	grid := plotting.ReadGrid(r, rep.Levels)
	if len(grid.Rows) > 0 {
		v.Grid = plotting.GridPicture(rep, grid, v.Dated, plotting.OnPage)
	}
	v.SetAside, v.Readings, v.Cut = readings(r, rep)
	v.Slips = slips(v.SetAside)
	v.Titles, v.Dives = columns(rep), diveRows(r, rep, grid, v.Dated, v.Notes)
	v.trends(rep)
	for _, b := range rep.OtherBatteries {
		v.Batteries = append(v.Batteries, b.Name())
	}
	return v
}

// texts returns sentences as the page shows them.
func texts(all []string) []string {
	var out []string
	for _, s := range all {
		out = append(out, plotting.Sentence(s))
	}
	return out
}

// gauges adds the pictures of quantities that do not drift, by state.
func (v *Vehicle) gauges(all []plotting.Gauge) {
	of := map[string]*[]*plotting.Picture{findings.PastLimit: &v.Past, findings.NotAsBuilt: &v.Other, findings.NearLimit: &v.NearLimit,
		findings.CannotTell: &v.Open, findings.CannotBe: &v.Open, findings.Sound: &v.Sound}
	for _, g := range all {
		if list := of[g.State]; list != nil {
			*list = append(*list, g.Picture())
		}
	}
}

// trends adds the pictures of the quantities over the dives, to a finding if it concerns the
// quantity. It adds none before dives are judged.
func (v *Vehicle) trends(rep *findings.Report) {
	if !rep.Judged {
		return
	}
	line := plotting.ReadTimeline(rep.Dives, v.Dated)
	found := map[string]int{}
	reported := rep.Reported()
	for i := range reported {
		if q := reported[i].Cause.Quantity; rep.Trend(q) != nil && found[q] == 0 {
			found[q] = i + 1
		}
	}
	for _, t := range rep.Trends {
		i := found[t.Quantity]
		pic := plotting.TrendPicture(rep, plotting.ReadTrace(rep, t.Quantity), line, plotting.OnPage, i > 0)
		if i > 0 {
			v.Findings[i-1].Picture = pic
		} else {
			v.Trends = append(v.Trends, pic)
		}
	}
}

// opening returns the log's first words or, if notes are left out, only whether the log is
// simulated.
func opening(log *session.Log, o Options) string {
	if !o.LeaveNotes {
		return plotting.SafeText(log.Opening, 300)
	}
	if strings.HasPrefix(strings.ToLower(log.Opening), "simulated") {
		return "simulated"
	}
	return ""
}
