// Package calls answers the page: each call takes JSON and the bytes of files,
// and gives JSON and perhaps the bytes of a file. It assumes that the page holds
// the files and says which bytes stand, that a line which is not in those bytes
// is not kept, and that the page's day is the person's. It knows no browser.
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

// A Logbook is the one that the page shows.
type Logbook struct {
	vehicle  *vehicle.Vehicle // nil: it has problems
	wrong    [2][]string      // problems of vehicle.toml, and of dives.csv
	log      *session.Log     // what can be seen of it, where it has problems
	bytes    string           // of dives.csv, as stored
	file     *session.File
	forecast *forecast.Forecast // of opened; nil: nothing is expected
	opened   *session.Log       // the log as it was opened
	unasked  []unasked          // lines that were kept while there was no forecast
	today    time.Time
	dive     *newdive.Dive
	date     string         // of a dive that has no line yet
	had      map[string]int // how many lines each dive had when it was first shown

	fitted  *fit.Result // of the bytes judging
	report  *findings.Report
	judging string
}

// Arguments are what calls take; each call uses its own.
type Arguments struct {
	Today   string      // 2026-05-31
	Label   string      // of a dive
	Date    string      // of a dive that has no line yet
	Line    int         // from 0: which line of the dive; as many as it has for a new one
	Row     session.Row // what is typed
	All     bool        // every column
	Answers map[string]string
	Name    string
	Wrong   string   // why nothing is expected
	Files   []string `json:"-"`
}

// Answer is what a call gives.
type Answer struct {
	Value any
	Files []string
}

// all are the calls by name.
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

// Call answers one call by its name, with its arguments as JSON and the bytes of
// files. The answer is {"value": …} or {"error": "…"}; Call never panics.
func (b *Logbook) Call(name, arguments string, files ...string) (answer string, out []string) {
	defer func() {
		if wrong := recover(); wrong != nil { // a defect of ours must not end the program that holds what was typed
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
	text, _ := json.Marshal(map[string]string{"error": said(err)}) // of a string there is no error
	return string(text)
}

// said is an error for a person to read.
func said(err error) string { return problem.Clean(err.Error()) }

// day is a day as dates of the log are held; the zero time where it is none.
func day(text string) time.Time {
	d, _ := time.Parse(time.DateOnly, text)
	return d
}

// lines are the problems of an error, a line each.
func lines(err error) []string {
	if err == nil {
		return nil
	}
	return strings.Split(said(err), "\n")
}
