package importer

import (
	"slices"
	"strconv"
)

// group gives every line its dive and keeps the date on each dive's first, the
// dives in order of their dates.
func (t *taking) group(o Options) {
	t.carryDown()
	t.newSeasons()
	dives := t.apart()
	if !slices.IsSortedFunc(dives, byDate) {
		slices.SortStableFunc(dives, byDate)
		t.remark("dives put in order of their dates")
	}
	next := t.nextLabel()
	t.out.Lines = t.out.Lines[:0]
	for _, d := range dives {
		if d[0].Cells["dive"] == "" {
			label := strconv.Itoa(next)
			next++
			for _, l := range d {
				l.Cells["dive"] = label
			}
		}
		for i, l := range d {
			if i > 0 && l.Cells["date"] == d[0].Cells["date"] {
				delete(l.Cells, "date")
			}
		}
		t.out.Lines = append(t.out.Lines, d...)
	}
	if len(dives) > 0 && slices.ContainsFunc(dives, func(d []Line) bool { return d[0].Cells["date"] == "" }) && t.m.Date != Asked && t.m.to("date") == nil {
		t.out.Asked = append(t.out.Asked, "no date in the file: give it by --cell date=2026-05-31")
	}
}

// carryDown repeats labels and dates that stand on a dive's first line only.
func (t *taking) carryDown() {
	dive, date := "", ""
	for _, l := range t.out.Lines {
		c := l.Cells
		switch {
		case c["dive"] == "":
			c["dive"] = dive
		case c["dive"] != dive:
			dive = c["dive"]
			if t.m.Dives == ByColumn && c["date"] == "" {
				continue // a new dive without a date is told by judge
			}
		}
		if c["date"] == "" {
			c["date"] = date
		}
		date = c["date"]
		if t.m.Dives != ByColumn && t.m.Constant["dive"] == "" {
			dive = ""
		}
	}
}

// apart is the lines of each dive, in copies.
func (t *taking) apart() (dives [][]Line) {
	at := map[string]int{} // of the dive in dives
	for i, l := range t.out.Lines {
		key := ""
		switch t.m.Dives {
		case ByColumn:
			key = l.Cells["dive"]
		case ByDate:
			key = l.Cells["date"]
		}
		n, ok := at[key]
		if !ok {
			n = len(dives)
			at[key] = n
			dives = append(dives, nil)
		}
		dives[n] = append(dives[n], t.out.Lines[i])
	}
	return dives
}

func byDate(a, b []Line) int {
	x, y := a[0].Cells["date"], b[0].Cells["date"] // ISO 8601 sorts as text
	switch {
	case x == "" || y == "" || x == y:
		return 0
	case x < y:
		return -1
	}
	return 1
}

// nextLabel is one more than the highest number among the log's labels.
func (t *taking) nextLabel() int {
	next := 1
	if t.k.Log == nil {
		return next
	}
	for i := range t.k.Log.Dives {
		if n, err := strconv.Atoi(t.k.Log.Dives[i].Label); err == nil && n >= next {
			next = n + 1
		}
	}
	return next
}
