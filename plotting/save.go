package plotting

import (
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"

	"sagline/session"
)

// Formats are the kinds of file that Save writes.
var Formats = []string{"png", "svg", "pdf"}

// Save draws a plot 1200 px wide (at 96 to the inch) into a file of the
// format that its name ends in, whole or not at all.
func Save(p *plot.Plot, path string) error {
	format := strings.TrimPrefix(strings.ToLower(filepath.Ext(path)), ".")
	if !slices.Contains(Formats, format) {
		return fmt.Errorf("%s: found format %q, want one of %s", path, format, strings.Join(Formats, ", "))
	}
	w, err := p.WriterTo(12.5*vg.Inch, 6.5*vg.Inch, format)
	if err != nil {
		return err
	}
	return session.SaveFile(path, func(out io.Writer) error {
		_, err := w.WriteTo(out)
		return err
	})
}
