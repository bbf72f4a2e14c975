package main

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"

	"sagline/plotting"
	"sagline/predict/drift"
	"sagline/session"
	"sagline/session/problem"
)

// writeEstimates writes a line for each dive as CSV: its own estimate of every
// quantity, in the unit that the column's name says, with its 95 % interval,
// then what was serviced and set aside.
func writeEstimates(w io.Writer, rep *drift.Report) error {
	out := csv.NewWriter(w)
	header := []string{"dive", "date"}
	for _, t := range rep.Trends {
		header = append(header, t.Quantity, t.Quantity+"_low", t.Quantity+"_high")
	}
	_ = out.Write(append(header, "serviced", "set_aside"))
	number := func(x float64) string { return strconv.FormatFloat(x, 'g', 6, 64) }
	for _, d := range rep.Dives {
		row := []string{session.EscapeFormula(d.Dive), d.Date}
		for _, t := range rep.Trends {
			e, ok := d.Estimates[t.Quantity]
			if !ok {
				row = append(row, "", "", "")
				continue
			}
			row = append(row, number(e.Value), number(e.Low), number(e.High))
		}
		_ = out.Write(append(row, strings.Join(d.Serviced, " + "), strconv.Itoa(len(d.SetAside))))
	}
	out.Flush()
	return out.Error()
}

// printMarkdown words a report as Markdown.
func printMarkdown(w io.Writer, rep *drift.Report) {
	if len(rep.Dives) == 0 {
		fmt.Fprintf(w, "**%s**: no dives yet\n", marked(rep.Vehicle))
		return
	}
	last := rep.Dives[len(rep.Dives)-1]
	fmt.Fprintf(w, "**%s**: %s, the newest %s of %s\n\n", marked(rep.Vehicle), problem.Count(len(rep.Dives), "dive"), marked(last.Dive), last.Date)
	fmt.Fprint(w, "| quantity | trend | level (95 %) | limit | dives left |\n|---|---|---:|---:|---:|\n")
	for _, t := range rep.Trends {
		unit := rep.Unit(t.Quantity)
		t = t.In(unit)
		left := "–"
		if t.DivesToLimit != nil {
			left = drift.Left(t.DivesToLimit)
		}
		limit := "–"
		if t.Limit != nil {
			limit = plotting.Number(*t.Limit, unit.Name)
		}
		fmt.Fprintf(w, "| %s | %s | %s | %s | %s |\n", marked(t.Cause.Words), marked(plotting.Says(&t, unit.Name)),
			marked(t.LevelSaid(unit.Name)), limit, left)
	}
	fmt.Fprintln(w)
	for _, b := range rep.Rebuilt {
		fmt.Fprintf(w, "- rebuilt %s\n", marked(b))
	}
	for i := range rep.Alarms {
		fmt.Fprintf(w, "- %s\n", marked(rep.Alarms[i].String()))
	}
	told := rep.Told()
	for _, f := range told {
		fmt.Fprintf(w, "- **%s** (%s sure) since dive %s; next: %s\n", marked(f.Cause.Words), drift.Sure(f.Probability),
			marked(f.SinceDive), marked(f.CheckNext))
	}
	if len(told) == 0 {
		fmt.Fprintf(w, "- %s\n", marked(rep.Verdict()))
	}
	for _, r := range rep.Remarks {
		fmt.Fprintf(w, "- note: %s\n", marked(r))
	}
}

// marked is text that Markdown shows as it is.
func marked(s string) string {
	var b strings.Builder
	for _, c := range plotting.SafeText(s, 300) {
		if strings.ContainsRune("\\`*_{}[]<>()#|!~&@", c) {
			b.WriteByte('\\')
		}
		b.WriteRune(c)
	}
	return b.String()
}
