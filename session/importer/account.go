package importer

import (
	"maps"
	"slices"

	"sagline/session/problem"
)

// An Account says what became of the cells of a file that have anything in
// them: Headings, Taken, Noted and those of Left add up to Cells.
type Account struct {
	Cells    int            `json:"cells"`
	Headings int            `json:"headings"`
	Taken    int            `json:"taken"`
	Noted    int            `json:"noted"` // kept in the note as they stand
	Left     map[string]int `json:"left_out"`
}

// leave counts the cells of rows as left out.
func (a *Account) leave(why string, rows ...row) {
	for _, r := range rows {
		a.add(why, filled(r.cells))
	}
}

func (a *Account) add(why string, n int) {
	if a.Left == nil {
		a.Left = map[string]int{}
	}
	if a.Left[why] += n; a.Left[why] == 0 {
		delete(a.Left, why)
	}
}

// LeftOut is what was left out, most first.
func (a *Account) LeftOut() (out []string) {
	for _, why := range slices.SortedFunc(maps.Keys(a.Left), func(x, y string) int { return a.Left[y] - a.Left[x] }) {
		out = append(out, problem.Count(a.Left[why], "cell")+" "+why)
	}
	return out
}
