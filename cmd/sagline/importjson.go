package main

import (
	"sagline/session/importer"
	"sagline/session/problem"
	"sagline/session/spreadsheet"
)

// importJSON is what import --json prints.
type importJSON struct {
	Schema   int                 `json:"schema"`
	File     string              `json:"file"`
	Dives    string              `json:"dives"`
	Date     string              `json:"date"`
	Decimal  string              `json:"decimal"`
	Columns  []matchJSON         `json:"columns"`
	Lines    []importer.Line     `json:"lines"`
	Skipped  []string            `json:"already"`
	Asked    []string            `json:"asked"`
	Problems problem.List        `json:"problems"`
	Remarks  []string            `json:"remarks"`
	Changed  []string            `json:"changed"`
	Account  spreadsheet.Account `json:"account"`
	Written  bool                `json:"written"`
}

type matchJSON struct {
	Heading string  `json:"heading"`
	To      string  `json:"to"`
	Times   float64 `json:"times"`
	Plus    float64 `json:"plus"`
	Drive   string  `json:"drive,omitempty"`
	Sure    string  `json:"sure"`
	Why     string  `json:"why"`
}

func (im *importing) asJSON(written bool) importJSON {
	m, r := im.mapping, im.result
	j := importJSON{Schema: 1, File: im.file, Dives: m.Dives, Date: m.Date, Decimal: m.Decimal, Columns: []matchJSON{},
		Lines: append([]importer.Line{}, r.Lines...), Skipped: append([]string{}, r.Skipped...), Asked: []string{}, Changed: append([]string{}, r.Changed...), Account: r.Account,
		Problems: append(problem.List{}, r.Problems...), Remarks: append([]string{}, r.Remarks...), Written: written}
	for _, c := range m.Columns {
		if im.source.Has(c.Heading) {
			times, plus := c.Factors()
			j.Columns = append(j.Columns, matchJSON{c.Heading, c.To, times, plus, c.Drive, c.Sure, c.Why})
		}
	}
	for _, q := range r.Asked {
		j.Asked = append(j.Asked, q.Text)
	}
	return j
}
