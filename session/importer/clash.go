package importer

import (
	"fmt"

	"sagline/session"
	"sagline/session/problem"
)

// oneEach lets one heading stand for each column: the surest. Where two are as
// sure a person must say. Notes are joined, and columns of one thruster each
// where none tells all of them.
func oneEach(all []Match) {
	rank := map[string]int{Sure: 2, Likely: 1}
	for i := range all {
		for k := range all {
			a, b := &all[i], &all[k]
			if a.Drive != "" && b.Drive == "" && rank[b.Sure] > 0 && b.To == "thrusters" {
				a.To, a.Drive, a.Sure, a.Why = "", "", Unused, problem.Quote(b.Heading)+" gives thrusters"
			}
		}
	}
	for i := range all {
		a := &all[i]
		if rank[a.Sure] == 0 || a.To == "note" {
			continue
		}
		for k := range all {
			b := &all[k]
			if i == k || rank[b.Sure] == 0 || quantityOf(a.To) != quantityOf(b.To) || a.Drive != b.Drive {
				continue
			}
			if rank[b.Sure] > rank[a.Sure] {
				a.Why, a.To, a.Sure = fmt.Sprintf("%s gives %s more surely", problem.Quote(b.Heading), b.To), "", Unused
				break
			}
			if rank[b.Sure] == rank[a.Sure] {
				why := fmt.Sprintf("%s and %s both mean %s: which?", problem.Quote(a.Heading), problem.Quote(b.Heading), a.To)
				a.To, a.Sure, a.Why, b.To, b.Sure, b.Why = Asked, Asked, why, Asked, Asked, why
				break
			}
		}
	}
}

func quantityOf(column string) string {
	if c, ok := session.Find(column); ok {
		return c.Quantity
	}
	return column
}
