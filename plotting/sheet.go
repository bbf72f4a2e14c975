package plotting

import (
	_ "embed" // the page's template
	"html/template"
	"io"
	"strings"
	"sync"

	"sagline/predict/checklist"
)

// A Sheet is the card for one dive: what to read, which questions are open, what to mind. All of it
// is text that is ready to show.
type Sheet struct {
	Vehicle, Basis string
	Runs           []SheetRun
	Margins        []string // margins not met, and what a jammed thruster would do
	Open           []string
	Search         []string // state of the search for a fault's spot
	Services       []string
	Before, After  []checklist.Check
	Cautions       []string
}

// A SheetRun is what to run, and the readings to take then in the order in which a line is typed.
type SheetRun struct {
	Do       string
	Readings []SheetReading
}

// A SheetReading is one line of the card. Rank is its place, from 1, among all readings by how much
// it tells.
type SheetReading struct {
	Read, Expect, About string
	Rank                int
}

// Purpose words what a reading tells most about and, for the first few, its rank.
func (r *SheetReading) Purpose() string {
	switch {
	case r.Rank > len(ranks):
		return r.About
	case r.About == "":
		return ranks[r.Rank-1]
	}
	return r.About + ", " + ranks[r.Rank-1]
}

var ranks = []string{"tells most", "second", "third"}

//go:embed sheet.html
var sheetText string

// sheetPage is parsed at its first use, since most commands write no page.
var sheetPage = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("sheet").Funcs(template.FuncMap{
		"named": func(title string, c []checklist.Check) titled { return titled{title, c} },
		"unbroken": func(s string) string { // a unit stays beside its number
			last := strings.LastIndexByte(s, ' ')
			return s[:max(last, 0)] + strings.Replace(s[max(last, 0):], " ", "\u00a0", 1)
		},
		"colours": func(dark bool) template.CSS { return template.CSS(Colours(dark)) },
	}).Parse(sheetText))
})

// titled is a list of checks under its heading.
type titled struct {
	Title  string
	Checks []checklist.Check
}

// WriteHTML writes the sheet as one self-contained page, everything escaped.
func (s *Sheet) WriteHTML(w io.Writer) error { return WritePage(w, sheetPage(), s) }
