package importer

import (
	"fmt"

	"sagline/session/problem"
)

func problemAt(file string, line int, heading, format string, args ...any) *problem.Problem {
	place := ""
	if heading != "" {
		place = "column " + problem.Quote(heading)
	}
	return &problem.Problem{File: file, Line: line, Column: place, Text: fmt.Sprintf(format, args...)}
}
