package importer

import (
	"cmp"
	"slices"
	"strconv"
)

// group gives every line its dive and keeps the date on each dive's first, the
// dives in order of their dates.
func (c *converter) group() {
	dives := c.apart()
	undated := func(d []Line) bool { return d[0].Cells["date"] == "" }
	byDate := func(a, b []Line) int { return cmp.Compare(a[0].Cells["date"], b[0].Cells["date"]) } // ISO 8601 sorts as text
	switch {
	case slices.ContainsFunc(dives, undated) && !c.m.Dated() && c.m.Date != Asked:
		c.asks("", "no date in the file: give it by --cell date=2026-05-31", nil, nil)
		c.out.Asked[len(c.out.Asked)-1].Given = "date"
	case !slices.ContainsFunc(dives, undated) && !slices.IsSortedFunc(dives, byDate):
		slices.SortStableFunc(dives, byDate)
		c.remark("dives put in order of their dates")
	}
	next := 1 // one more than the highest number among the log's labels
	for i := 0; c.k.Log != nil && i < len(c.k.Log.Dives); i++ {
		if n, err := strconv.Atoi(c.k.Log.Dives[i].Label); err == nil {
			next = max(next, n+1)
		}
	}
	c.out.Lines = c.out.Lines[:0]
	for _, d := range dives {
		label := d[0].Cells["dive"]
		if label == "" {
			label = strconv.Itoa(next)
			next++
		}
		for i, l := range d {
			if l.Cells["dive"] = label; i > 0 && l.Cells["date"] == d[0].Cells["date"] {
				delete(l.Cells, "date")
			}
		}
		c.out.Lines = append(c.out.Lines, d...)
	}
}

// apart is the lines of each dive. Labels and dates may stand on a dive's first
// line only.
func (c *converter) apart() (dives [][]Line) {
	at := map[string]int{} // of the dive in dives
	dive, date := "", ""
	for _, l := range c.out.Lines {
		if c.m.Dives == ByColumn || c.sections {
			dive = cmp.Or(l.Cells["dive"], dive)
		}
		if c.m.Dives == ByDate || c.sections && c.m.Dives != ByColumn {
			date = cmp.Or(l.Cells["date"], date)
		}
		n, ok := at[dive+"\n"+date]
		if !ok {
			n = len(dives)
			at[dive+"\n"+date] = n
			dives = append(dives, nil)
		}
		dives[n] = append(dives[n], l)
	}
	return dives
}
