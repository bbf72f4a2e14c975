package main

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/importer"
	"sagline/session/problem"
)

// importOptions are how a file is taken in.
type importOptions struct {
	asJSON, write, saveMapping, again, badToNote bool
	mapping                                      string
	cells                                        map[string]string
}

// An importing is one file on its way into one logbook.
type importing struct {
	named        string // as the command line names the file
	file, folder string
	mappingPath  string
	had          bool     // the mapping's file was there
	stray        bool     // it was, but fits none of the headings
	fresh        []string // headings that it did not know
	source       *importer.Source
	mapping      *importer.Mapping
	log          *session.Log
	taken        *importer.Taken
}

func newImport() *cobra.Command {
	var o importOptions
	c := &cobra.Command{
		Use: "import FILE [LOGBOOK]", Short: "Take in a spreadsheet's or a logger's file with other headings",
		Long: "import matches a file's headings to the columns of dives.csv by their words and units,\n" +
			"shows what it found and the first lines as they would be written, and writes nothing\n" +
			"before it is told to. A logger's samples are cut into steady stretches, a line each.\n" +
			"The mapping is kept in import.toml, to be edited and used again. FILE may be -, standard input.",
		Example: "  $ sagline import examples/import/old.csv examples/import\n" +
			"  $ sagline import examples/import/old.csv examples/import --write\n" +
			"  $ sagline import examples/import/logger.csv examples/import --mapping logger.toml --cell date=2026-05-31",
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) < 1 {
				return useError{errors.New("import: want the file to take in")}
			}
			return upTo(2)(cmd, args)
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			for name := range o.cells {
				if _, ok := session.Find(name); !ok {
					return useError{fmt.Errorf("--cell %s: no such column%s", name, problem.Suggest(name, columnNames()))}
				}
			}
			im, err := o.open(cmd, args[0], folder(args[1:]))
			if err != nil {
				return err
			}
			return o.run(im, cmd.InOrStdin(), cmd.OutOrStdout())
		},
	}
	f := c.Flags()
	f.BoolVar(&o.write, "write", false, "write the lines and the mapping")
	f.BoolVar(&o.saveMapping, "save-mapping", false, "write the mapping alone, to be edited")
	f.StringVar(&o.mapping, "mapping", "", "a mapping other than the logbook's import.toml")
	f.StringToStringVar(&o.cells, "cell", nil, "a cell of every line, as `date=2026-05-31`")
	f.BoolVar(&o.again, "again", false, "take in again what the log has, as new dives")
	f.BoolVar(&o.badToNote, "bad-to-note", false, "keep what cannot be read in the notes")
	f.BoolVar(&o.asJSON, "json", false, "print the mapping and the lines as JSON")
	f.Lookup("cell").DefValue = ""
	return c
}

func columnNames() []string {
	var out []string
	for _, c := range session.Columns() {
		out = append(out, c.Name)
	}
	return out
}

// open reads the logbook, the mapping if there is one, and the file.
func (o *importOptions) open(cmd *cobra.Command, file, dir string) (*importing, error) {
	v, log, err := openLogbook(cmd, dir)
	if err != nil {
		return nil, err
	}
	im := &importing{named: file, file: file, folder: dir, mappingPath: o.mapping, log: log}
	if im.mappingPath == "" {
		im.mappingPath = filepath.Join(dir, importer.FileName)
	}
	if err := im.readMapping(); err != nil {
		return nil, err
	}
	if err := im.read(cmd); err != nil {
		return nil, err
	}
	known := importer.Known{Columns: log.Columns, Log: log, SD: instrumentSD(v)}
	for i := range v.Thrusters {
		known.Thrusters = append(known.Thrusters, v.Thrusters[i].Name)
	}
	if err := im.fit(known, o.mapping != ""); err != nil {
		return nil, err
	}
	im.taken = importer.Take(im.source, im.mapping, known, importer.Options{Cells: o.cells, Again: o.again, BadToNote: o.badToNote})
	return im, nil
}

// piped is what a file's name is when it comes from standard input.
const piped = "-"

// read reads the file, or standard input.
func (im *importing) read(cmd *cobra.Command) error {
	var err error
	if im.file == piped {
		im.file = "standard input"
		im.source, err = importer.Open(cmd.InOrStdin(), im.file)
		return err
	}
	f, err := os.Open(im.file)
	if err != nil {
		return &problem.Problem{File: im.file, Text: "cannot be read: " + reason(err)}
	}
	defer f.Close()
	st, err := f.Stat()
	if err == nil && st.IsDir() {
		return &problem.Problem{File: im.file, Text: "is a folder, want a file"}
	}
	im.source, err = importer.Open(counted(f, st, cmd.ErrOrStderr()), im.file)
	return err
}

// longFile is the size from which reading takes long enough to be watched.
const longFile = 8 << 20

// counted shows on a terminal how much of a long file is read.
func counted(f io.Reader, st fs.FileInfo, errOut io.Writer) io.Reader {
	if st == nil || st.Size() < longFile || !terminal(errOut) {
		return f
	}
	return &progressReader{f, 0, st.Size(), newProgress(errOut, 100, "per cent read")}
}

// reason is what the system says, without the path.
func reason(err error) string {
	var pe *fs.PathError
	if errors.As(err, &pe) {
		return pe.Err.Error()
	}
	return err.Error()
}

// instrumentSD is what a change must exceed to matter, by column.
func instrumentSD(v *vehicle.Vehicle) map[string]float64 {
	in := v.Instruments
	return map[string]float64{"battery_v": in.BatteryV, "current_a": in.CurrentA, "vehicle_v": in.VehicleV}
}

func (im *importing) readMapping() error {
	f, err := os.Open(im.mappingPath)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return &problem.Problem{File: im.mappingPath, Text: "cannot be read: " + reason(err)}
	}
	defer f.Close()
	im.had = true
	im.mapping, err = importer.ReadMapping(f, im.mappingPath)
	return err
}

// fit makes the mapping one for this file. One that was named must fit; one
// that only lies there may be of other files.
func (im *importing) fit(k importer.Known, named bool) error {
	if im.had {
		fresh, known := im.mapping.Adapt(im.source, k)
		if known > 0 {
			im.fresh = fresh
			return nil
		}
		if named {
			return &problem.Problem{File: im.mappingPath, Text: fmt.Sprintf("has none of the headings of %s", im.file)}
		}
		im.stray = true
	}
	im.mapping = importer.Propose(im.source, k)
	return nil
}

// run shows what was found, and writes where it is told to.
func (o *importOptions) run(im *importing, in io.Reader, out io.Writer) error {
	var sound error
	if o.write || !o.saveMapping {
		sound = im.sound()
	}
	written := false
	if o.asJSON {
		if o.write && sound == nil {
			if err := im.save(true); err != nil {
				return err
			}
			written = true
		}
		return errors.Join(printJSON(out, im.asJSON(written)), sound)
	}
	im.show(out)
	switch {
	case o.write && sound == nil, sound == nil && !o.saveMapping && asked(in, out, im):
		if err := im.save(true); err != nil {
			return err
		}
		fmt.Fprintf(out, "\nwritten; next: sagline check %s\n", im.folder)
		return nil
	case o.saveMapping:
		if err := im.save(false); err != nil {
			return err
		}
		fmt.Fprintf(out, "\nwritten: %s alone; edit it, then run the import again\n", im.mappingPath)
		return nil
	}
	im.next(out, o, sound)
	return sound
}

// asked asks a person at a terminal whether to write.
func asked(in io.Reader, out io.Writer, im *importing) bool {
	if !terminal(in) || !terminal(out) {
		return false
	}
	fmt.Fprintf(out, "\nadd these to %s? yes or no [no] ", filepath.Join(im.folder, session.FileName))
	answer, _ := bufio.NewReader(in).ReadString('\n')
	return slices.Contains([]string{"y", "yes"}, strings.ToLower(strings.TrimSpace(answer)))
}

// sound is nil when the lines may be written.
func (im *importing) sound() error {
	t := im.taken
	var list problem.List
	list = append(list, t.Problems...)
	for _, a := range t.Asked {
		list.Add(im.file, 0, "", "to be said first: %s", a)
	}
	switch {
	case len(list) > 0:
	case im.stray:
		list.Add(im.mappingPath, 0, "", "has none of the headings of %s; give this file's mapping a name of its own by --mapping", im.file)
	case len(t.Lines) == 0 && len(t.Skipped) > 0:
		list.Add(im.file, 0, "", "nothing new: the log has its dives already; --again takes them in under new numbers")
	case len(t.Lines) == 0:
		list.Add(im.file, 0, "", "no line to write")
	}
	return list.Err()
}

// errMeanwhile says that the log is not the one that was looked at.
var errMeanwhile = errors.New("the log changed meanwhile, nothing written; try again")

// save writes the lines, if wanted, and then the mapping.
func (im *importing) save(lines bool) error {
	if lines {
		err := session.Edit(im.folder, func(s *session.File) error {
			if s.Log == nil || len(s.Log.Dives) != len(im.log.Dives) {
				return errMeanwhile
			}
			entries := make([]session.Row, len(im.taken.Lines))
			for i, l := range im.taken.Lines {
				entries[i] = l.Cells
			}
			return s.Append(entries...)
		})
		if err != nil {
			return err
		}
	}
	return im.saveMapping()
}

// saveMapping writes a new mapping whole; to one that was there it adds the
// headings that it did not know, and leaves the rest as a person wrote it.
func (im *importing) saveMapping() error {
	switch {
	case im.stray:
		return &problem.Problem{File: im.mappingPath, Text: "is of other files, not overwritten; give this file's a name of its own by --mapping"}
	case !im.had:
		return session.SaveFile(im.mappingPath, im.mapping.Write)
	case len(im.fresh) == 0:
		return nil
	}
	return session.Rewrite(im.mappingPath, func(old []byte) ([]byte, error) {
		now := bytes.NewBuffer(slices.Clone(old))
		err := im.mapping.WriteColumns(now, im.fresh)
		return now.Bytes(), err
	})
}
