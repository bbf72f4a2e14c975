package main

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"

	"sagline/session/problem"
)

// finish puts what was found in the order of each file.
func (r *checked) finish() {
	r.Sound = true
	for _, f := range r.Files {
		byLine := func(a, b *problem.Problem) int { return cmp.Compare(a.Line, b.Line) }
		slices.SortStableFunc(f.remarks, byLine)
		f.problems = unique(f.problems)
		f.Problems, f.Remarks = asFindings(f.problems), asFindings(f.remarks)
		r.Sound = r.Sound && len(f.problems) == 0
	}
}

// unique drops what was found twice: a folder that is not there
// is missed by both of its files.
func unique(list problem.List) problem.List {
	seen := map[string]bool{}
	return slices.DeleteFunc(list, func(p *problem.Problem) bool {
		again := seen[p.Error()]
		seen[p.Error()] = true
		return again
	})
}

func asFindings(list problem.List) []finding {
	out := make([]finding, len(list))
	for i, p := range list {
		out[i] = finding{p.Line, p.ColumnName(), p.Text}
	}
	return out
}

// printChecked prints problems on errOut, as every command does, and the rest
// on w, file by file.
func printChecked(w, errOut io.Writer, r *checked) {
	for _, f := range r.Files {
		for _, p := range f.problems {
			fmt.Fprintln(errOut, p)
		}
		for _, p := range f.remarks {
			odd := *p
			odd.Column = strings.TrimSuffix("remark: "+p.Column, ": ")
			fmt.Fprintln(w, &odd)
		}
		if len(f.problems) > 0 || len(f.remarks) > 0 {
			fmt.Fprintf(w, "%s: %s, %s\n\n", f.File, problem.Count(len(f.problems), "problem"), problem.Count(len(f.remarks), "remark"))
		}
	}
	if !r.Sound {
		return
	}
	printBuilds(w, r.Rebuilt)
	next := "sagline trend"
	if r.Lines == 0 {
		next = "sagline predict, then write a dive down"
	}
	files := "files without problems"
	if r.unsettled != "" {
		files += ", but the calibration did not converge: what rests on it may be off"
	}
	fmt.Fprintf(w, "%s: %s, %s, %s; next: %s\n", r.Vehicle, files, problem.Count(r.Dives, "dive"), problem.Count(r.Lines, "line"), next)
}
