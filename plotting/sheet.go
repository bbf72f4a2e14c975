package plotting

import (
	_ "embed" // the page's template
	"html/template"
	"io"
	"sync"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"codeberg.org/go-pdf/fpdf"
)

// A Sheet is the card for one dive: what to read, what is open, what to mind.
// All of it is text, ready to show.
type Sheet struct {
	Vehicle, Basis string
	Readings       []SheetReading
	Open           []string
	Services       []string
	Cautions       []string
}

// A SheetReading is one line of the card.
type SheetReading struct {
	Do, Read, Expect, Tells string
}

//go:embed sheet.html
var sheetText string

// sheetPage is parsed when it is first wanted: most commands write no page.
var sheetPage = sync.OnceValue(func() *template.Template { return template.Must(template.New("sheet").Parse(sheetText)) })

// WriteHTML writes the sheet as one self-contained page, everything escaped.
func (s *Sheet) WriteHTML(w io.Writer) error { return sheetPage().Execute(w, s) }

// WritePDF writes the sheet on A4.
func (s *Sheet) WritePDF(w io.Writer) error {
	p := fpdf.New("P", "mm", "A4", "")
	p.AddUTF8FontFromBytes("sans", "", liberationsansregular.TTF)
	p.AddUTF8FontFromBytes("sans", "B", liberationsansbold.TTF)
	p.SetMargins(15, 15, 15)
	p.AddPage()
	heading := func(size float64, text string) {
		p.SetFont("sans", "B", size)
		p.MultiCell(0, size*0.5, text, "", "L", false)
		p.Ln(1)
	}
	para := func(text string) {
		p.SetFont("sans", "", 10)
		p.MultiCell(0, 5, text, "", "L", false)
	}
	heading(16, s.Vehicle+": the next dive")
	para(s.Basis)
	p.Ln(3)
	widths := []float64{50, 22, 40, 22, 46}
	row := func(style string, cells ...string) {
		p.SetFont("sans", style, 9)
		for i, c := range cells {
			p.CellFormat(widths[i], 8, fitText(p, c, widths[i]-2), "1", 0, "L", false, 0, "")
		}
		p.Ln(-1)
	}
	row("B", "do", "read", "should be", "was", "tells")
	for _, r := range s.Readings {
		row("", r.Do, r.Read, r.Expect, "", r.Tells)
	}
	p.Ln(4)
	for _, part := range []struct {
		title string
		lines []string
	}{{"Open", s.Open}, {"Serviced and due", s.Services}, {"Mind", s.Cautions}} {
		if len(part.lines) == 0 {
			continue
		}
		heading(12, part.title)
		for _, l := range part.lines {
			para("– " + l)
		}
		p.Ln(3)
	}
	return p.Output(w)
}

// fitText cuts a text to a width in mm in the present font.
func fitText(p *fpdf.Fpdf, s string, width float64) string {
	r := []rune(s)
	for len(r) > 1 && p.GetStringWidth(string(r)) > width {
		r = append(r[:len(r)-2], '…')
	}
	return string(r)
}
