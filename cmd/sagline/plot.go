package main

import (
	"cmp"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"sagline/plotting"
	"sagline/predict/drift"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/vehicle"
	"sagline/session/disk"
	"sagline/session/problem"
)

// drawing says which pictures to make, in what size and format, and where.
type drawing struct {
	dir, format string
	size        plotting.Size
	quantities  []string // empty: all pictures
}

// leastDPI and mostDPI bound the resolution of a PNG. A higher one exhausts memory.
const leastDPI, mostDPI = 30, 1200

func newPlot() *cobra.Command {
	var d drawing
	var use string
	var dpi int
	c := &cobra.Command{
		Use: "plot [LOGBOOK]", Short: "Pictures: each quantity's trend, and readings beside predictions",
		Example: "  $ sagline plot examples/joint --out pictures --format svg\n" +
			"  $ sagline plot examples/joint --out pictures --for phone --quantity ingress_g", Args: upTo(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if !slices.Contains(plotting.Formats, d.format) {
				return useError{fmt.Errorf("--format: %w", problem.NotOf(d.format, plotting.Formats))}
			}
			var err error
			if d.size, err = plotting.SizeFor(use); err != nil {
				return useError{fmt.Errorf("--for: %w", err)}
			}
			if cmd.Flags().Changed("dpi") {
				if dpi < leastDPI || dpi > mostDPI || d.format != "png" {
					return useError{fmt.Errorf("--dpi: found %d for %s, want %d to %d for png", dpi, d.format, leastDPI, mostDPI)}
				}
				d.size.DPI = dpi
			}
			if ext := strings.TrimPrefix(strings.ToLower(filepath.Ext(d.dir)), "."); slices.Contains(plotting.Formats, ext) {
				return useError{fmt.Errorf("--out: found %q, want a folder for the pictures, and --format %s", d.dir, ext)}
			}
			d.dir = cmp.Or(d.dir, filepath.Join(folder(args), "plots"))
			return runPlot(cmd, folder(args), d)
		},
	}
	f := c.Flags()
	f.StringVar(&d.dir, "out", "", "folder for the pictures (default: plots in the logbook)")
	f.StringVar(&d.format, "format", "png", "png or svg")
	f.StringVar(&use, "for", "screen", "size: screen, slide, print or phone")
	f.IntVar(&dpi, "dpi", 0, "dots to the inch of a png (default: by the size)")
	f.StringArrayVar(&d.quantities, "quantity", nil, "draw this quantity's trend alone, as ingress_g; may be given again")
	return c
}

func runPlot(cmd *cobra.Command, dir string, d drawing) error {
	_, _, r, err := readAndFit(cmd, dir)
	if err != nil {
		return err
	}
	var numbered []string
	if d.format == "png" {
		numbered = plotting.NumberDives(r.Dives)
	}
	rep := drift.Analyse(r)
	var known []string
	for _, t := range rep.Trends {
		known = append(known, t.Quantity)
	}
	for _, q := range d.quantities {
		if !slices.Contains(known, q) {
			return useError{fmt.Errorf("--quantity: %w", problem.NotOf(q, known))}
		}
	}
	if len(r.Dives) == 0 {
		noDives(cmd.OutOrStdout(), rep.Vehicle, dir)
		return nil
	}
	paths, err := drawAll(r, rep, pictureNames(cmd, r.Model.Vehicle, dir, d.format, numbered...), d)
	for _, p := range paths {
		fmt.Fprintln(cmd.OutOrStdout(), p)
	}
	return err
}

// drawAll draws the pictures and returns the paths of their files.
func drawAll(r *fit.Result, rep *findings.Report, names plotting.Names, d drawing) (paths []string, err error) {
	if err := disk.MakeFolder(d.dir); err != nil {
		return nil, err
	}
	when := plotting.ReadTimeline(rep.Dives, true)
	save := func(name string, p *plotting.Picture) {
		path := filepath.Join(d.dir, fileName(name, paths)+"."+d.format)
		if err == nil {
			err = d.size.Save(names, p, path)
		}
		if err == nil {
			paths = append(paths, path)
		}
	}
	for _, t := range rep.Trends {
		if len(d.quantities) == 0 || slices.Contains(d.quantities, t.Quantity) {
			save(t.Quantity, plotting.TrendPicture(rep, plotting.ReadTrace(rep, t.Quantity), when, d.size.Layout(), true))
		}
	}
	if len(d.quantities) > 0 || err != nil {
		return paths, err
	}
	save("vehicle", plotting.DrawVehicle(r.Model.Vehicle, rep, d.size.Layout()).Picture())
	if repair := plotting.ReadRepair(r, rep); repair != nil {
		save("before_and_after", repair.Picture(d.size.Layout()))
	}
	if g := plotting.ReadGrid(r, rep.Levels); len(g.Rows) > 0 { // some readings have predictions
		save("measured_and_predicted", plotting.GridPicture(rep, g, true, d.size.Layout()))
	}
	return paths, err
}

// fileName returns a quantity's name with only letters and digits, and a number appended if another
// file has that name. It ignores case, since some file systems do.
func fileName(quantity string, others []string) string {
	base := strings.Map(func(c rune) rune {
		if c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' {
			return c
		}
		return '_'
	}, quantity)
	name := base
	for n := 2; slices.ContainsFunc(others, func(o string) bool {
		return strings.EqualFold(strings.TrimSuffix(filepath.Base(o), filepath.Ext(o)), name)
	}); n++ {
		name = fmt.Sprintf("%s_%d", base, n)
	}
	return name
}

// drawTo draws a picture into the file of --out, if it is set.
func drawTo(cmd *cobra.Command, v *vehicle.Vehicle, dir, out string, draw func(plotting.Layout) (*plotting.Picture, error)) error {
	if out == "" {
		return nil
	}
	screen := plotting.Sizes[0]
	p, err := draw(screen.Layout())
	if err != nil {
		return err
	}
	return screen.Save(pictureNames(cmd, v, dir, out), p, out)
}

// pictureNames returns the names used in a picture; format is a format or a file's name. For a PNG it
// prints which names its font cannot draw, and what replaces them. numbered holds labels of dives and
// their replacements in turn.
func pictureNames(cmd *cobra.Command, v *vehicle.Vehicle, dir, format string, numbered ...string) plotting.Names {
	if !strings.HasSuffix(strings.ToLower(format), "png") {
		return plotting.Names{Vehicle: v.Name}
	}
	path, _ := filepath.Abs(dir)
	names := plotting.PNGNames(v, filepath.Base(path))
	var say []string
	for pair := range slices.Chunk(slices.Concat(names.Instead, numbered[:min(len(numbered), 2)]), 2) {
		say = append(say, problem.Quote(pair[0])+" is "+problem.Quote(pair[1]))
	}
	if n := len(numbered) / 2; n > 1 {
		say[len(say)-1] = fmt.Sprintf("%d dives are numbers (%s)", n, say[len(say)-1])
	}
	if say != nil {
		fmt.Fprintf(cmd.ErrOrStderr(), "%s in the picture: a png's font lacks letters of %s, an svg takes them all\n", strings.Join(say, ", "), map[bool]string{true: "it", false: "them"}[len(names.Instead)+len(numbered) == 2])
	}
	return names
}
