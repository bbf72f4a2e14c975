package main

import (
	"bufio"
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"sagline/session"
	"sagline/session/disk"
	"sagline/session/importer"
	"sagline/session/problem"
	"sagline/session/spreadsheet"
)

// importOptions are the flags of import.
type importOptions struct {
	write   bool
	mapping string
	cells   map[string]string
}

// An importing is the import of one file into one logbook.
type importing struct {
	named        string // as the command line names the file
	file, folder string
	mappingPath  string
	had          bool // the mapping's file existed
	answered     bool // a person answered questions at a terminal
	ofOthers     bool // the mapping's file existed, but has none of this file's headings
	source       *spreadsheet.Sheet
	mapping      *importer.Mapping
	known        importer.Known
	log          *session.Log
	result       *importer.Result
}

func newImport() *cobra.Command {
	var o importOptions
	c := &cobra.Command{
		Use: "import FILE [LOGBOOK]", Short: "Take in a spreadsheet's file with other headings",
		Long: "import matches a file's headings to the columns of dives.csv by their words, their units and\n" +
			"what the lines say, shows what it found and the first lines, and writes no line before --write.\n" +
			"What the file does not say is asked at a terminal; elsewhere the mapping is written to import.toml,\n" +
			"with the lines to edit named. It is used again next time. FILE may be -, standard input.",
		Example: "  $ sagline import examples/import/old.csv examples/import\n" +
			"  $ sagline import examples/import/old.csv examples/import --write",
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) < 1 {
				return useError{errors.New("import: want the file to take in")}
			}
			return upTo(2)(cmd, args)
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			for name := range o.cells {
				if _, ok := session.Find(name); !ok {
					return useError{fmt.Errorf("--cell %s: no such column%s", name, problem.Suggest(name, session.ColumnNames()))}
				}
			}
			im, err := o.open(cmd, args[0], folder(args[1:]))
			if err != nil {
				return err
			}
			return o.run(im, cmd)
		},
	}
	f := c.Flags()
	f.BoolVar(&o.write, "write", false, "write the lines and the mapping")
	f.StringVar(&o.mapping, "mapping", "", "a mapping other than the logbook's import.toml")
	f.StringToStringVar(&o.cells, "cell", map[string]string{}, "a cell of every line, as `date=2026-05-31`")
	f.Bool("json", false, "print the mapping and the lines as JSON")
	f.Lookup("cell").DefValue = ""
	return c
}

// open reads the logbook, the mapping if there is one, and the file.
func (o *importOptions) open(cmd *cobra.Command, file, dir string) (*importing, error) {
	v, log, err := openLogbook(cmd, dir)
	if err != nil {
		return nil, err
	}
	im := &importing{named: file, file: file, folder: dir, mappingPath: cmp.Or(o.mapping, filepath.Join(dir, importer.FileName)), log: log}
	if err := im.readMapping(); err != nil {
		return nil, err
	}
	if err := im.read(cmd); err != nil {
		return nil, err
	}
	im.known = importer.Known{Thrusters: v.ThrusterNames(), Log: log, Judge: judge(v)}
	if err := im.fit(im.known, o.mapping != ""); err != nil {
		return nil, err
	}
	o.convert(im)
	return im, nil
}

func (o *importOptions) convert(im *importing) {
	im.result = importer.Convert(im.source, im.mapping, im.known, session.Row(o.cells))
}

// piped is the name of standard input as a file.
const piped = "-"

// read reads the file, or standard input.
func (im *importing) read(cmd *cobra.Command) error {
	in := cmd.InOrStdin()
	if im.file == piped {
		im.file = "standard input"
	} else {
		f, err := disk.Open(im.file, session.MaxBytes)
		if err != nil {
			return err
		}
		defer f.Close()
		in = f
	}
	var err error
	im.source, err = spreadsheet.Open(in, im.file)
	return err
}

// mostMapping bounds the size of a mapping's file, in bytes.
const mostMapping = 1 << 20

func (im *importing) readMapping() error {
	if _, err := os.Stat(im.mappingPath); errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	text, err := disk.Read(im.mappingPath, mostMapping)
	if err != nil {
		return err
	}
	im.had = true
	im.mapping, err = importer.ReadMapping([]byte(text), im.mappingPath)
	return err
}

// fit adapts the mapping to this file. It returns an error if a mapping that the command line names
// does not fit; one found in the folder may be for other files.
func (im *importing) fit(k importer.Known, named bool) error {
	if im.had {
		if slices.ContainsFunc(im.mapping.Columns, func(c importer.Match) bool { return im.source.Has(c.Heading) }) {
			im.mapping.Adapt(im.source, k)
			return nil
		}
		if named {
			return problem.Whole(im.mappingPath, "has none of the headings of %s", im.file)
		}
		im.ofOthers = true
	}
	im.mapping = importer.Propose(im.source, k)
	return nil
}

// run shows what was found, and writes it if asked to.
func (o *importOptions) run(im *importing, cmd *cobra.Command) error {
	in, out, asJSON := cmd.InOrStdin(), cmd.OutOrStdout(), wantsJSON(cmd)
	if !asJSON && terminal(in) && terminal(out) {
		if err := o.dialogue(im, in, out); err != nil {
			return err
		}
	}
	sound := im.sound()
	if asJSON {
		if o.write && sound == nil {
			if err := im.save(true); err != nil {
				return err
			}
		}
		return errors.Join(printJSON(out, im.asJSON(o.write && sound == nil)), sound)
	}
	im.show(out)
	switch {
	case sound == nil && (o.write || asked(in, out, im)):
		if err := im.save(true); err != nil {
			return err
		}
		if im.had && im.answered {
			fmt.Fprintf(out, "\nyour answers are in %s\n", im.mappingPath)
		}
		fmt.Fprintf(out, "\nwritten; next: sagline check %s\n", shellWord(im.folder))
		return nil
	case len(im.result.Asked) > 0 && !im.ofOthers:
		if err := im.save(false); err != nil {
			return err
		}
	}
	return errors.Join(im.next(out, o, sound), sound)
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

// sound returns nil if the lines may be written, otherwise why not.
func (im *importing) sound() error {
	r := im.result
	var list problem.List
	list = append(list, r.Problems...)
	for _, a := range r.Asked {
		list.Add(im.file, 0, "", "to be said first: %s", a.Text)
	}
	if im.ofOthers { // its questions have no file to be answered in
		list.Add(im.mappingPath, 0, "", "has none of the headings of %s; give this file's mapping a name of its own by --mapping", im.file)
	}
	switch {
	case len(list) > 0:
	case len(r.Lines) == 0 && len(r.Skipped) > 0:
		list.Add(im.file, 0, "", "nothing new: the log has its dives")
	case len(r.Lines) == 0:
		list.Add(im.file, 0, "", "no line to write")
	}
	return list.Err()
}

// errMeanwhile is returned if the log has changed since it was read.
var errMeanwhile = errors.New("the log changed meanwhile, nothing written; try again")

// save writes the lines, if lines is true, and then the mapping.
func (im *importing) save(lines bool) error {
	text, unkept := im.newMapping()
	if unkept != nil && !(lines && im.answered) {
		return unkept
	}
	if !lines {
		return im.saveMapping(text)
	}
	err := session.Edit(im.folder, func(f *session.File) error {
		if f.Log == nil || len(f.Log.Dives) != len(im.log.Dives) {
			return errMeanwhile
		}
		return f.Append(importer.Rows(im.result.Lines)...)
	})
	if err != nil {
		return err
	}
	if err := cmp.Or(unkept, im.saveMapping(text)); err != nil {
		return fmt.Errorf("%w\nthe %s are in %s", err, problem.Count(len(im.result.Lines), "line"), filepath.Join(im.folder, session.FileName))
	}
	return nil
}

// newMapping returns the text of the mapping to write, nil if the file need not change. It returns
// an error if the file may not be changed.
func (im *importing) newMapping() ([]byte, error) {
	if im.ofOthers {
		return nil, problem.Whole(im.mappingPath, "is of other files, not overwritten; give this file's a name of its own by --mapping")
	}
	if im.had { // the file is kept, with the answers and open questions added
		before, err := os.ReadFile(im.mappingPath)
		if err != nil {
			return nil, err
		}
		after, err := im.mapping.Edit(bytes.Clone(before), im.mappingPath, im.result.Asked)
		if bytes.Equal(before, after) {
			after = nil
		}
		return after, err
	}
	text, err := im.mapping.Text()
	if err != nil {
		return nil, err
	}
	_, err = importer.ReadMapping(text, im.mappingPath) // what is written must be readable
	return text, err
}

func (im *importing) saveMapping(text []byte) error {
	if text == nil {
		return nil
	}
	return disk.SaveText(im.mappingPath, text)
}
