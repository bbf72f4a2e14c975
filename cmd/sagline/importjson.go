package main

import (
	"maps"
	"math"
	"slices"

	"sagline/session/importer"
)

// importJSON is what import --json prints.
type importJSON struct {
	Schema   int           `json:"schema"`
	File     string        `json:"file"`
	Rows     string        `json:"rows"`
	Dives    string        `json:"dives"`
	Date     string        `json:"date"`
	Decimal  string        `json:"decimal"`
	Columns  []matchJSON   `json:"columns"`
	Lines    []lineJSON    `json:"lines"`
	Already  []skipJSON    `json:"already"`
	Asked    []string      `json:"asked"`
	Problems []problemJSON `json:"problems"`
	Remarks  []string      `json:"remarks"`
	Written  bool          `json:"written"`
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
	Line    int               `json:"line"`
	Cells   map[string]string `json:"cells"`
	Stretch *stretchJSON      `json:"stretch,omitempty"`
}

type stretchJSON struct {
	StartS  float64             `json:"start_s"`
	EndS    float64             `json:"end_s"`
	Samples int                 `json:"samples"`
	Means   map[string]meanJSON `json:"means"`
}

type meanJSON struct {
	Value     float64  `json:"value"`
	SD        *float64 `json:"sd"`
	SE        *float64 `json:"standard_error"`
	Effective float64  `json:"independent_samples"`
	SetAside  int      `json:"set_aside"`
	Drift     float64  `json:"drift"`
}

type skipJSON struct {
	Line int    `json:"line"`
	Dive string `json:"dive"`
	As   string `json:"as"`
	Same bool   `json:"same"`
}

type problemJSON struct {
	File   string `json:"file"`
	Line   int    `json:"line"`
	Column string `json:"column"`
	Text   string `json:"text"`
}

func (im *importing) asJSON(written bool) importJSON {
	m, t := im.mapping, im.taken
	j := importJSON{Schema: 1, File: im.file, Rows: m.Rows, Dives: m.Dives, Date: m.Date, Decimal: m.Decimal, Columns: []matchJSON{}, Lines: []lineJSON{},
		Already: []skipJSON{}, Asked: append([]string{}, t.Asked...), Problems: []problemJSON{}, Remarks: append([]string{}, t.Remarks...), Written: written}
	for _, c := range m.Columns {
		if im.source.Has(c.Heading) {
			j.Columns = append(j.Columns, matchJSON{c.Heading, c.To, c.Times, c.Plus, c.Drive, c.Sure, c.Why})
		}
	}
	for _, l := range t.Lines {
		j.Lines = append(j.Lines, lineJSON{l.Number, l.Cells, stretchOf(l.Stretch)})
	}
	for _, s := range t.Skipped {
		j.Already = append(j.Already, skipJSON{s.Line, s.Label, s.Dive, s.Same})
	}
	for _, p := range t.Problems {
		j.Problems = append(j.Problems, problemJSON{p.File, p.Line, p.Column, p.Text})
	}
	return j
}

func stretchOf(s *importer.Stretch) *stretchJSON {
	if s == nil {
		return nil
	}
	out := &stretchJSON{s.StartS, s.EndS, s.Samples, map[string]meanJSON{}}
	for _, m := range s.Means {
		if m.N > 0 {
			out.Means[m.Column] = meanJSON{m.Value, finite(m.SD), finite(m.SE), m.Effective, m.SetAside, m.Drift}
		}
	}
	return out
}

// finite is nil for what JSON has no number for.
func finite(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return &x
}

func sortedKeys(m map[string]string) []string { return slices.Sorted(maps.Keys(m)) }
