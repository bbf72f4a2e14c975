package importer

import (
	"bytes"
	"errors"
	"io"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"

	"sagline/session/problem"
)

// FileName is a mapping's usual name in a logbook folder.
const FileName = "import.toml"

// maxMapping bounds a mapping's file.
const maxMapping = 1 << 20

// file is a mapping as TOML has it.
type file struct {
	Rows      string            `toml:"rows"`
	Dives     string            `toml:"dives"`
	Prefix    string            `toml:"prefix"`
	Date      string            `toml:"date"`
	Decimal   string            `toml:"decimal"`
	Yes       []string          `toml:"yes"`
	No        []string          `toml:"no"`
	Empty     []string          `toml:"empty"`
	Cut       cut               `toml:"cut"`
	Columns   []entry           `toml:"column"`
	Thrusters map[string]string `toml:"thrusters"`
	Constant  map[string]string `toml:"constant"`
	Levels    []level           `toml:"level"`
}

type cut struct {
	WindowS float64 `toml:"window_s"`
	LeastS  float64 `toml:"least_s"`
	SettleS float64 `toml:"settle_s"`
}

type entry struct {
	Heading string  `toml:"heading"`
	To      string  `toml:"to"`
	Times   float64 `toml:"times"`
	Plus    float64 `toml:"plus"`
	Form    string  `toml:"form"`
	Drive   string  `toml:"drive"`
}

type level struct {
	Column    string  `toml:"column"`
	From      float64 `toml:"from"`
	To        float64 `toml:"to"`
	Thrusters string  `toml:"thrusters"`
}

// keys are the names that stand in a mapping, for the nearest to a wrong one.
var keys = strings.Fields(`rows dives prefix date decimal yes no empty cut window_s least_s settle_s column heading to times plus form drive
	thrusters constant level from`)

// ReadMapping reads a mapping's TOML strictly; name stands in problems, which
// are told all at once.
func ReadMapping(r io.Reader, name string) (*Mapping, error) {
	text, err := io.ReadAll(io.LimitReader(r, maxMapping+1))
	if err != nil {
		return nil, problemAt(name, 0, "", "%v", err)
	}
	if len(text) > maxMapping {
		return nil, problemAt(name, 0, "", "more than %d bytes", maxMapping)
	}
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	f := file{Rows: Observations, Dives: ByFile, Date: YearFirst, Decimal: ".", Yes: yesWords, No: noWords, Empty: emptyWords}
	if err := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields().Decode(&f); err != nil {
		return nil, tomlProblems(err, name)
	}
	c := checker{name: name, at: tableLines(text)}
	m := c.mapping(&f)
	return m, c.list.Err()
}

func tomlProblems(err error, name string) error {
	var list problem.List
	var strict *toml.StrictMissingError
	var decode *toml.DecodeError
	switch {
	case errors.As(err, &strict):
		for i := range strict.Errors {
			line, _ := strict.Errors[i].Position()
			key := strict.Errors[i].Key()
			list.Add(name, line, strings.Join(key, "."), "unknown key%s", problem.Suggest(key[len(key)-1], keys))
		}
	case errors.As(err, &decode):
		line, _ := decode.Position()
		list.Add(name, line, strings.Join(decode.Key(), "."), "%s", strings.TrimPrefix(decode.Error(), "toml: "))
	default:
		list.Add(name, 0, "", "%s", strings.TrimPrefix(err.Error(), "toml: "))
	}
	return list.Err()
}

// tableLines are the lines that tables begin on, by name, and the lines of the
// keys above the first under their own.
func tableLines(text []byte) map[string][]int {
	out := map[string][]int{}
	var p unstable.Parser
	p.Reset(text)
	top := true
	for p.NextExpression() {
		e := p.Expression()
		table := e.Kind == unstable.Table || e.Kind == unstable.ArrayTable
		top = top && !table
		if k := e.Key(); (table || top && e.Kind == unstable.KeyValue) && k.Next() {
			n := k.Node()
			out[string(n.Data)] = append(out[string(n.Data)], 1+bytes.Count(text[:n.Raw.Offset], []byte("\n")))
		}
	}
	return out
}
