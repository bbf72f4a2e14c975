package main

import (
	"sagline/session"
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
	Lines    []lineJSON          `json:"lines"`
	Skipped  []string            `json:"already"`
	Asked    []string            `json:"asked"`
	Problems []problemJSON       `json:"problems"`
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

type lineJSON struct {
	Line  int         `json:"line"`
	Cells session.Row `json:"cells"`
}

type problemJSON struct {
	File   string `json:"file"`
	Line   int    `json:"line"`
	Column string `json:"column"`
	Text   string `json:"text"`
}

func (im *importing) asJSON(written bool) importJSON {
	m, r := im.mapping, im.result
	j := importJSON{Schema: 1, File: im.file, Dives: m.Dives, Date: m.Date, Decimal: m.Decimal, Columns: []matchJSON{}, Lines: []lineJSON{},
		Skipped: append([]string{}, r.Skipped...), Asked: []string{}, Changed: append([]string{}, r.Changed...), Account: r.Account, Problems: []problemJSON{}, Remarks: append([]string{}, r.Remarks...), Written: written}
	for _, c := range m.Columns {
		if im.source.Has(c.Heading) {
			times, plus := c.Factors()
			j.Columns = append(j.Columns, matchJSON{c.Heading, c.To, times, plus, c.Drive, c.Sure, c.Why})
		}
	}
	for _, q := range r.Asked {
		j.Asked = append(j.Asked, q.Text)
	}
	for _, l := range r.Lines {
		j.Lines = append(j.Lines, lineJSON{l.Number, l.Cells})
	}
	for _, p := range r.Problems {
		j.Problems = append(j.Problems, problemJSON{p.File, p.Line, p.Column, p.Text})
	}
	return j
}
