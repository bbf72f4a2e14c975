package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"sagline/predict/audit"
	"sagline/predict/drift"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/problem"
)

// finding is a problem or a remark as JSON.
type finding struct {
	Line  int    `json:"line,omitempty"`  // 0: the file as a whole
	Place string `json:"place,omitempty"` // column or key
	Text  string `json:"text"`
}

// checkedFile is the result of check for one file.
type checkedFile struct {
	File     string    `json:"file"`
	Problems []finding `json:"problems"`
	Remarks  []finding `json:"remarks"`

	problems, remarks problem.List
}

// checked is the result of check for a logbook.
type checked struct {
	Schema  int            `json:"schema"`
	Vehicle string         `json:"vehicle,omitempty"`
	Sound   bool           `json:"sound"` // no problems; remarks are allowed
	Dives   int            `json:"dives"`
	Lines   int            `json:"lines"`
	Rebuilt []string       `json:"rebuilt,omitempty"` // in words, with the first dive
	Files   []*checkedFile `json:"files"`

	unsettled string // warning if the calibration did not converge, else ""
}

func newCheck() *cobra.Command {
	c := &cobra.Command{
		Use: "check [LOGBOOK]", Short: "Every problem of vehicle.toml and dives.csv, with its place",
		Long: "Prints every problem of the two files, file by file: what cannot be read, or names what is not\n" +
			"there. Then what is odd but accepted, as remarks: a run too short for a speed, a slip, a dive\n" +
			"without a voltage at rest, a margin of predict that is not met. Problems exit with 1, remarks do\n" +
			"not. Whatever check finds sound, the other commands accept.",
		Example: "  $ sagline check examples/joint\n  $ sagline check --json examples/volts-only", Args: upTo(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			r, err := checkLogbook(cmd, folder(args))
			if err != nil {
				return err
			}
			err = show(cmd, r, func(w io.Writer) { printChecked(w, cmd.ErrOrStderr(), r, folder(args)) })
			if err == nil && !r.Sound {
				err = errReported
			}
			return err
		},
	}
	c.Flags().Bool("json", false, "print the results as JSON")
	return c
}

// checkLogbook checks both files. It checks one even if the other has problems.
func checkLogbook(cmd *cobra.Command, dir string) (*checked, error) {
	v, at, errV := vehicle.OpenPlaced(dir)
	log, errL := openLog(dir, v, errV)
	r := &checked{Schema: 1}
	ofVehicle, ofLog := filepath.Join(dir, vehicle.FileName), filepath.Join(dir, session.FileName)
	r.problems(ofVehicle, errV)
	r.problems(ofLog, errL)
	if errV == nil {
		if err := showIn(cmd, dir, v); err != nil {
			return nil, err
		}
		r.Vehicle = v.Name
		r.remarks(ofVehicle, v.Remarks(at))
	}
	if errL == nil {
		r.Dives = len(log.Dives)
		for i := range log.Dives {
			r.Lines += len(log.Dives[i].Lines)
		}
		r.remarks(ofLog, problem.Listed(errors.Join(log.Warnings...)))
		r.remarks(ofLog, log.Remarks())
	}
	var fitted *fit.Result
	var rep *findings.Report
	if errV == nil && errL == nil {
		fitted, rep = r.compare(v, log, at)
	}
	if errV == nil {
		if fitted == nil { // the margins are those of the file alone
			log = &session.Log{}
		}
		var remarks problem.List
		for _, f := range r.Files {
			remarks = append(remarks, f.remarks...)
		}
		r.remarks(at.File, notMet(v.Next(log.Labels()), at, log, fitted, rep, remarks))
	}
	if _, err := session.ReadLocate(dir); err != nil {
		r.problems(filepath.Join(dir, session.LocateFile), err)
	}
	r.finish()
	return r, nil
}

// compare fits and analyses the log, and adds remarks from the results. It returns nil if the fit
// fails.
func (r *checked) compare(v *vehicle.Vehicle, log *session.Log, at *vehicle.Places) (*fit.Result, *findings.Report) {
	fitted, err := fit.Fit(v, log)
	if err != nil {
		r.problems(log.File, err)
		return nil, nil
	}
	rep := drift.Analyse(fitted)
	r.unsettled = fitted.NotConverged()
	r.Rebuilt = fitted.Builds(len(log.Dives) - 1)
	ofVehicle, ofLog := audit.Remarks(v, log, fitted, at)
	r.remarks(at.File, append(ofVehicle, lightsLearnt(at.File, v, log, audit.Keys(fitted, rep.Statics))...))
	r.remarks(log.File, ofLog)
	r.remarks(log.File, dangers(log.File, fitted))
	return fitted, rep
}

// lightsLearnt returns a remark on the lights' current if the dives tell it and the file does not.
func lightsLearnt(file string, v *vehicle.Vehicle, log *session.Log, known []audit.Known) (out problem.List) {
	if v.Belief(audit.LightsKey).Value > 0 || !log.Any(func(l session.Line) bool { return l.Lights }) {
		return nil
	}
	for _, k := range known {
		if k.Path == audit.LightsKey && k.Left < narrowed {
			out.Add(file, 0, k.Path, "not stated; of the dives' lines with lights on it is %s A: sagline vehicle --write puts that in", ranged(findings.Estimate(k.Now)))
		}
	}
	return out
}

func (r *checked) file(name string) *checkedFile {
	for _, f := range r.Files {
		if f.File == name {
			return f
		}
	}
	f := &checkedFile{File: name, Problems: []finding{}, Remarks: []finding{}}
	r.Files = append(r.Files, f)
	return f
}

// problems adds the problems of an error to the files that they name; those that name none, to file.
func (r *checked) problems(file string, err error) {
	for _, p := range problem.Listed(err) {
		if p.File == "" {
			p = &problem.Problem{File: file, Text: strings.TrimPrefix(p.Text, file+": ")}
		}
		f := r.file(p.File)
		f.problems = append(f.problems, p)
	}
}

func (r *checked) remarks(file string, list problem.List) {
	f := r.file(file)
	f.remarks = append(f.remarks, list...)
}

// finish sorts what was found by line, and removes repetitions.
func (r *checked) finish() {
	r.Sound = true
	for _, f := range r.Files {
		byLine := func(a, b *problem.Problem) int { return cmp.Compare(a.Line, b.Line) }
		slices.SortStableFunc(f.remarks, byLine)
		same := func(a, b *problem.Problem) bool { return a.Error() == b.Error() }
		f.problems = slices.CompactFunc(f.problems, same) // both files report a missing folder
		f.Problems, f.Remarks = asFindings(f.problems), asFindings(f.remarks)
		r.Sound = r.Sound && len(f.problems) == 0
	}
}

func asFindings(list problem.List) []finding {
	out := make([]finding, len(list))
	for i, p := range list {
		out[i] = finding{p.Line, p.ColumnName(), p.Text}
	}
	return out
}

// printChecked prints the problems on errOut, as every command does, and the rest on w, file by
// file.
func printChecked(w, errOut io.Writer, r *checked, dir string) {
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
		fmt.Fprintf(w, "next: mend what is a problem, then sagline check %s\n", shellWord(dir))
		return
	}
	printEach(w, "rebuilt", r.Rebuilt)
	next := "sagline trend " + shellWord(dir)
	if r.Lines == 0 {
		next = fmt.Sprintf("sagline predict %s, then write a dive down", shellWord(dir))
	}
	files := "files without problems"
	if r.unsettled != "" {
		files += ", but the calibration did not converge: what rests on it may be off"
	}
	fmt.Fprintf(w, "%s: %s, %s, %s; next: %s\n", r.Vehicle, files, problem.Count(r.Dives, "dive"), problem.Count(r.Lines, "line"), next)
}
