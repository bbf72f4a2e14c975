// Package calls answers the page. Each call takes JSON and the bytes of files, and returns JSON and
// perhaps the bytes of files. The package assumes that the page stores the files and says which bytes
// are stored, that a line is kept only if it is in those bytes, and that the page's day is the
// person's. It does not depend on a browser.
package calls

import (
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/forecast"
	"sagline/predict/newdive"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/problem"
)

// A Logbook is the logbook that the page shows.
type Logbook struct {
	vehicle  *vehicle.Vehicle // nil if vehicle.toml has problems
	wrong    [2][]string      // problems of vehicle.toml, and of dives.csv
	log      *session.Log     // if dives.csv has problems, what File.Seen returns
	bytes    string           // dives.csv as stored
	file     *session.File
	forecast *forecast.Forecast // from opened; nil if there are no expectations
	opened   *session.Log       // the log as it was opened
	unasked  []unasked          // lines that were kept while there was no forecast
	today    time.Time
	dive     *newdive.Dive
	date     string         // of a dive without lines
	had      map[string]int // how many lines each dive had when it was first shown

	fitted  *fit.Result // fit of the bytes in judging
	report  *findings.Report
	judging string
}

// Arguments are what calls take. Each call uses some of them.
type Arguments struct {
	Today   string      // as 2026-05-31
	Label   string      // of a dive
	Date    string      // of a dive without lines
	Line    int         // index of a line of the dive, from 0; its number of lines for a new line
	Row     session.Row // what is typed
	All     bool        // ask for every column
	Answers map[string]string
	Name    string
	Wrong   string   // why there are no expectations
	Files   []string `json:"-"`
}

// Answer is what a call returns.
type Answer struct {
	Value any
	Files []string
}

// all holds the calls by name.
var all = map[string]func(*Logbook, *Arguments) (Answer, error){
	"early":    (*Logbook).early,
	"open":     (*Logbook).open,
	"expect":   (*Logbook).expect,
	"expected": (*Logbook).expected,
	"begin":    (*Logbook).begin,
	"line":     (*Logbook).line,
	"keep":     (*Logbook).keep,
	"strike":   (*Logbook).strike,
	"stands":   (*Logbook).stands,
	"after":    (*Logbook).after,
	"ask":      (*Logbook).ask,
	"make":     (*Logbook).make,
	"trend":    (*Logbook).trend,
	"merge":    (*Logbook).merge,
}

// Call answers the call of a name, given its arguments as JSON and the bytes of files. The answer is
// {"value": …} or {"error": "…"}. Call never panics.
func (b *Logbook) Call(name, arguments string, files ...string) (answer string, out []string) {
	defer func() {
		if wrong := recover(); wrong != nil { // a bug must not end the program that holds what was typed
			answer, out = failed(fmt.Errorf("a defect of sagline: %v", wrong)), nil
		}
	}()
	call, ok := all[name]
	if !ok {
		return failed(fmt.Errorf("no call %q", name)), nil
	}
	var a Arguments
	if err := json.Unmarshal([]byte(arguments), &a); err != nil {
		return failed(err), nil
	}
	a.Files = files
	got, err := call(b, &a)
	if err != nil {
		return failed(err), nil
	}
	text, err := json.Marshal(map[string]any{"value": got.Value})
	if err != nil {
		return failed(err), nil
	}
	return string(text), got.Files
}

func failed(err error) string {
	text, _ := json.Marshal(map[string]string{"error": said(err)}) // a string can always be encoded
	return string(text)
}

// said returns an error's text, safe to show to a person.
func said(err error) string { return problem.Clean(err.Error()) }

// day parses an ISO 8601 day as the log holds dates. It returns the zero time if text is none.
func day(text string) time.Time {
	d, _ := time.Parse(time.DateOnly, text)
	return d
}

// lines returns the problems of an error, one a line.
func lines(err error) []string {
	if err == nil {
		return nil
	}
	return strings.Split(said(err), "\n")
}
