package main

import (
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"sagline/plotting"
	"sagline/session/problem"
)

// pictureName is what a picture in a file or format calls the vehicle: its
// name, or where the font of a PNG lacks a letter of it the logbook's folder,
// which is said.
func pictureName(cmd *cobra.Command, name, dir, format string) string {
	if !strings.HasSuffix(strings.ToLower(format), "png") || plotting.Drawable(name) {
		return name
	}
	short := "vehicle"
	if path, err := filepath.Abs(dir); err == nil && plotting.Drawable(filepath.Base(path)) {
		short = filepath.Base(path)
	}
	fmt.Fprintf(cmd.ErrOrStderr(), "%s is %s in the picture: a png's font lacks letters of it, an svg takes them all\n", problem.Quote(name), problem.Quote(short))
	return short
}
