// Package report makes one self-contained page of what logbooks show, to be passed around. The page
// fetches nothing, works without its one small script, and escapes every word that a person wrote.
// It is for a reader with a phone and half a minute: first what has changed and what to do about
// it, then the pictures, then the numbers behind them, and at the end how they were found.
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

// A Page shows one or more vehicles.
type Page struct {
	Vehicles []*Vehicle
	Cautions string
}

// A Vehicle is the content of the page for one logbook.
type Vehicle struct {
	ID        string // unique on the page
	Name      string
	Folder    string // distinguishes vehicles of the same name
	Period    string // "30 dives, 8 March to 24 September 2025"
	Opening   string // first words of the log
	Findings  []Finding
	Lines     []string // headlines, ended alarms and rebuilds
	Margins   []string // margins not met, and dangers that the newest dive's readings show
	MarginsOn string   // the batteries of which Margins are the worst, if there are several
	Judged    bool     // there are dives after the baseline
	Search    []string // state of searches for a fault's spot
	Remarks   []string
	Nearest   *plotting.Gauge
	Drawn     *plotting.Picture // the vehicle, part by part
	Dated     bool
	Past      []*plotting.Picture // quantities past their limits from the start, or since they were worked on
	NearLimit []*plotting.Picture // quantities near their limits
	Batteries []string            // names of others than the newest dive's that had an open alarm when last used
	Other     []*plotting.Picture // quantities that are better than those of the file's vehicle could be
	Open      []*plotting.Picture // quantities that readings cannot tell, or of which they give an impossible value
	Sound     []*plotting.Picture // sound quantities
	Trends    []*plotting.Picture // each quantity over the dives
	Shares    []plotting.Share
	Jammed    bool   // a thruster is jammed, which the budget leaves out
	Water     string // temperature for the budget
	Budget    *plotting.Picture
	Grid      *plotting.Picture
	Repair    *plotting.Picture // before and after the newest repair
	SetAside  []Reading
	Slips     string // SetAside in a sentence
	Readings  []Reading
	Cut       string // what was left out of Readings
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

// scriptHash returns the hash by which the page's content security policy allows its script.
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
	return plotting.WritePage(w, pageTemplate(), p)
}

// worst orders vehicles by the most severe finding or, without findings, by the share of the way to
// the nearest limit.
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

// setApart appends what by returns to the names of vehicles that share a name.
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

// Known reports whether the vehicle is judged and no quantity is open, past its limit, near it or
// not as built, and no other battery had an open alarm.
func (v *Vehicle) Known() bool {
	return v.Judged && len(v.Open)+len(v.Past)+len(v.NearLimit)+len(v.Other)+len(v.Batteries) == 0
}

// Fleet reports whether the page needs an overview.
func (p *Page) Fleet() bool { return len(p.Vehicles) > 1 }

// An outline is a vehicle with the level of its headings in the page.
type outline struct {
	V *Vehicle
	H int
}

// Summary words the fleet's state in one line.
func (p *Page) Summary() string {
	open, early := 0, 0
	for _, v := range p.Vehicles {
		switch {
		case len(v.Findings)+len(v.Past)+len(v.Batteries) > 0:
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

// heading returns a heading of a level. Levels differ between a single vehicle and a fleet, so that
// the page's outline has no gaps.
func heading(level int, text string) template.HTML {
	return template.HTML(fmt.Sprintf("<h%d>%s</h%d>", level, template.HTMLEscapeString(text), level))
}

// style returns the page's style sheet with the pictures' colours, light and dark.
func style() template.CSS {
	var parts strings.Builder
	for i, c := range plotting.PartColours {
		on := plotting.OnPart(i)
		fmt.Fprintf(&parts, ".p%d{color:#%02x%02x%02x}.o%d{color:#%02x%02x%02x}\n", i, c.R, c.G, c.B, i, on.R, on.G, on.B)
	}
	return template.CSS(strings.NewReplacer("/*light*/", plotting.Colours(false), "/*dark*/", plotting.Colours(true), "/*parts*/", parts.String()).Replace(styleText))
}
