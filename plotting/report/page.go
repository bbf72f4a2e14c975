// Package report makes one self-contained page of what logbooks show, to be
// passed around: nothing fetched, one small script that it does without, every
// word that a person wrote shown as text. It assumes that a reader has a phone and half a minute:
// first what has changed and what to do about it, then the pictures, then the
// numbers behind them, and at the end how they were found.
package report

import (
	"cmp"
	"crypto/sha256"
	_ "embed" // template, style and script
	"encoding/base64"
	"fmt"
	"html/template"
	"io"
	"slices"
	"strings"
	"sync"

	"sagline/plotting"
)

// A Page is one or more vehicles.
type Page struct {
	Vehicles []*Vehicle
	Cautions string
}

// A Vehicle is one logbook as the page shows it, all of it ready to print.
type Vehicle struct {
	ID        string // unique on the page
	Name      string
	Folder    string // sets vehicles of one name apart
	Period    string // "30 dives, 8 March to 24 September 2025"
	Opening   string // what the log says of itself
	Findings  []Finding
	Lines     []string // how it is where nothing was found, and what was mended
	Margins   []string // not met, and what the newest dive's readings say beside
	MarginsOn string   // which batteries they are the worst of, where there are several
	Judged    bool     // there are dives after the baseline
	Search    []string // how searches for a fault's spot stand
	Remarks   []string
	Nearest   *plotting.Gauge
	Drawn     *plotting.Picture // the vehicle, part by part
	Dated     bool
	Past      []*plotting.Picture // quantities that stand past their limits from the start
	Open      []*plotting.Picture // quantities that these readings cannot tell
	Sound     []*plotting.Picture // those that are sound
	Trends    []*plotting.Picture // each quantity over the dives
	Shares    []plotting.Share
	Jammed    bool   // a thruster is, which the budget leaves out
	Water     string // how warm, for the budget
	Budget    *plotting.Picture
	Grid      *plotting.Picture
	Repair    *plotting.Picture // before and after the newest
	SetAside  []Reading
	Slips     string // SetAside in a sentence
	Readings  []Reading
	Cut       string // what of Readings was left out
	Titles    []string
	Dives     []DiveRow
	Notes     bool
}

//go:embed page.html
var pageText string

//go:embed page.css
var styleText string

//go:embed page.js
var scriptText string

// scriptHash is what the page's policy knows its only script by.
func scriptHash() string {
	sum := sha256.Sum256([]byte(scriptText))
	return "sha256-" + base64.StdEncoding.EncodeToString(sum[:])
}

var pageTemplate = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("page").Funcs(template.FuncMap{
		"style": style, "parts": func() []string { return plotting.BudgetParts[:] }, "watts": func(w float64) string { return fmt.Sprintf("%.1f", w) },
		"at": func(v *Vehicle, level int) outline { return outline{v, level} },
		"h":  heading, "script": func() template.JS { return template.JS(scriptText) }, "hash": scriptHash,
	}).Parse(pageText))
})

// Write writes the page as HTML.
func (p *Page) Write(w io.Writer) error {
	slices.SortStableFunc(p.Vehicles, func(a, b *Vehicle) int { return cmp.Compare(b.worst(), a.worst()) })
	for i, v := range p.Vehicles {
		if p.Fleet() { // small enough to be opened on a phone
			v.Trends, v.Readings = nil, nil
		}
		v.ID = fmt.Sprintf("v%d", i+1)
	}
	p.setApart(func(v *Vehicle) string { return v.Folder })
	p.setApart(func(v *Vehicle) string { return v.ID[1:] })
	return pageTemplate().Execute(w, p)
}

// worst is how far the vehicle has gone: by the gravest of what was found, else by
// the share of the way to the nearest limit.
func (v *Vehicle) worst() float64 {
	out := 0.0
	if v.Nearest != nil {
		out = min(v.Nearest.Share, 1)
	}
	for i := range v.Findings {
		out = max(out, v.Findings[i].severity)
	}
	return out
}

// setApart adds to the names of vehicles that share one.
func (p *Page) setApart(by func(*Vehicle) string) {
	names := map[string]int{}
	for _, v := range p.Vehicles {
		names[v.Name]++
	}
	for _, v := range p.Vehicles {
		if more := by(v); names[v.Name] > 1 && more != "" {
			v.Name += " (" + more + ")"
		}
	}
}

// Known says that all of it is judged, and that the readings tell all of it.
func (v *Vehicle) Known() bool { return v.Judged && len(v.Open)+len(v.Past) == 0 }

// Fleet says whether the page needs an overview.
func (p *Page) Fleet() bool { return len(p.Vehicles) > 1 }

// outline is a vehicle with the level of its headings.
type outline struct {
	V *Vehicle
	H int
}

// Summary is the fleet's state in one line.
func (p *Page) Summary() string {
	open, early := 0, 0
	for _, v := range p.Vehicles {
		switch {
		case len(v.Findings) > 0:
			open++
		case !v.Judged:
			early++
		}
	}
	out := fmt.Sprintf("Something is open on %d of them.", open)
	if open == 0 {
		out = "Nothing is found on any of them."
	}
	if early > 0 {
		out += fmt.Sprintf(" Not yet judged: %d.", early)
	}
	return out
}

// heading is a heading of a level, so that a vehicle alone and one of a fleet
// both get an unbroken outline.
func heading(level int, text string) template.HTML {
	return template.HTML(fmt.Sprintf("<h%d>%s</h%d>", level, template.HTMLEscapeString(text), level))
}

// style is the page's style sheet with the pictures' colours, light and dark.
func style() template.CSS {
	var parts strings.Builder
	for i, c := range plotting.PartColours {
		on := plotting.OnPart(i)
		fmt.Fprintf(&parts, ".p%d{color:#%02x%02x%02x}.o%d{color:#%02x%02x%02x}\n", i, c.R, c.G, c.B, i, on.R, on.G, on.B)
	}
	return template.CSS(strings.NewReplacer("/*light*/", plotting.Colours(false), "/*dark*/", plotting.Colours(true), "/*parts*/", parts.String()).Replace(styleText))
}
