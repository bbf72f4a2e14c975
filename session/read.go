package session

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"

	"golang.org/x/text/encoding"

	"sagline/session/disk"
	"sagline/session/problem"
)

// Limits of what is read.
const (
	MaxBytes = 256 << 20 // of a file
	maxLine  = 1 << 20   // bytes of a line, those within quoted cells included
	maxCell  = 64 << 10  // bytes of a cell
	maxCells = 16384     // of a line: as wide as spreadsheets get
	MaxLines = 100_000   // of a log: some 550 bytes of memory each; a dive of twenty lines every day for 13 years
)

// Read reads one dives.csv; file names it in problems. The error lists the problems found, at most
// fifty, one per line, or wraps the error of r. Read uses at most 64 MiB plus eight times the
// file's size of memory.
func Read(r io.Reader, file string) (*Log, error) {
	all, err := disk.ReadText(r, MaxBytes)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	return whole(readable(all, file))
}

// readable reads as much of a dives.csv as it can. See lines.
func readable(all, file string) (*Log, error) {
	text, e, _ := decode(all)
	if e.encoding != encoding.Nop && len(all)%2 == 1 { // cut off: the rest of a label would begin another dive
		return nil, problem.Whole(file, "found half a character at its end, want the file saved as UTF-8")
	}
	return lines(text, file)
}

// whole returns the log only if there is no error.
func whole(log *Log, err error) (*Log, error) {
	if err != nil {
		return nil, err
	}
	return log, nil
}

// parse reads the text of a dives.csv.
func parse(text, file string) (*Log, error) { return whole(lines(text, file)) }

// lines reads as much of the text of a dives.csv as it can. The log holds what could be read, and
// is nil without a usable header. The error lists all problems.
func lines(text, file string) (*Log, error) {
	p := &problems{file: file}
	t, warnings := openTable(text, p)
	if t == nil || !t.header.usable(p) {
		return nil, p.err()
	}
	log := &Log{File: file, Opening: opening(text), Header: t.header.line, Columns: t.header.names, Warnings: warnings}
	b := newBuilder(log, t)
	for line, cells := range t.rows {
		if line > MaxLines {
			p.add(line, nil, "found more than %d lines, want at most that many", MaxLines)
			break
		}
		b.add(cells, line)
	}
	b.dives.close()
	b.dives.dates(b)
	return log, p.err()
}

// opening returns the comment with which a text begins, "" if there is none.
func opening(text string) string {
	comment, found := strings.CutPrefix(text[:lineLength(text)], "#")
	if !found {
		return ""
	}
	return strings.Clone(strings.TrimSpace(comment))
}

// openTable reads a text up to its header. Without one it adds a problem and returns nil.
func openTable(text string, p *problems) (*table, []error) {
	if line, why := notText(text); why != "" {
		p.add(line, nil, "%s", why)
		return nil, nil
	}
	t := &table{splitter: splitter{rest: text, line: 1, separator: separatorOf(text)}, header: &heading{}, problems: p}
	line, row := 0, []string(nil)
	t.rows(func(n int, first []string) bool { line, row = n, first; return false })
	if row == nil || len(p.list) > 0 {
		if len(p.list) == 0 {
			p.add(0, nil, "empty file, want a header line")
		}
		return nil, nil
	}
	var warnings []error
	t.header, warnings = judgeHeader(row, line, p)
	t.width = t.header.width
	return t, warnings
}

// FileName is the log's name in its folder.
const FileName = "dives.csv"

// Open reads the dives.csv of a logbook folder. A missing or unsuitable folder or file is reported
// as a problem on one line.
func Open(folder string) (*Log, error) { return whole(OpenReadable(folder)) }

// OpenReadable is Open for a log that may have problems: besides the error it returns what could
// be read, nil if nothing could.
func OpenReadable(folder string) (*Log, error) {
	path, all, err := disk.ReadIn(folder, FileName, MaxBytes)
	if err != nil {
		return nil, err
	}
	return readable(all, path)
}

// mostWorded is the number of problems of a file that are listed: common practice, no source. The
// rest are often the same slip again.
const mostWorded = 50

// problems gathers the problems of one file: mostWorded in full, and the number of the others.
type problems struct {
	file string
	list problem.List
	more int
}

// add adds a problem. Line 0 stands for the file as a whole; c may be nil.
func (p *problems) add(line int, c *Column, format string, args ...any) {
	column := ""
	if c != nil && len(p.list) < mostWorded {
		column = named(c.Name)
	}
	p.at(line, column, format, args...)
}

// at is add with the name of the column already in words.
func (p *problems) at(line int, column, format string, args ...any) {
	if len(p.list) >= mostWorded {
		p.more++
		return
	}
	p.list.Add(p.file, line, column, format, args...)
}

// named returns how a problem names a column.
func named(column string) string { return "column " + problem.Quote(column) }

// err returns nil without problems, else all of them, one per line, in the order of the file.
// Those of the file as a whole come last.
func (p *problems) err() error {
	list := slices.Clone(p.list)
	slices.SortStableFunc(list, func(a, b *problem.Problem) int { return cmp.Compare(uint(a.Line-1), uint(b.Line-1)) })
	if p.more > 0 {
		list.Add(p.file, 0, "", "… and %d more", p.more)
	}
	return list.Err()
}
