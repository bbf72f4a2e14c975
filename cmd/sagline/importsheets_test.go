package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/importer"
	"sagline/session/spreadsheet"
)

// answered takes a sheet in, each question answered as its maker would; asked
// are the questions.
func answered(t *testing.T, s *spreadsheet.Sheet, k importer.Known, answers map[string]string) (r *importer.Result, asked []string) {
	m := importer.Propose(s, k)
	for range 30 {
		r = importer.Convert(s, m, k, nil)
		if len(r.Asked) == 0 {
			return r, asked
		}
		q := r.Asked[0]
		asked = append(asked, q.Text)
		answer := answers["work"]
		for name, a := range answers {
			if strings.HasPrefix(q.Text, fmt.Sprintf("%q", name)) || strings.HasPrefix(q.Text, name) {
				answer = a
			}
		}
		if err := q.Answer(answer); err != nil {
			require.NoError(t, q.Answer(q.Choices[len(q.Choices)-1]), "%s: %v", q.Text, q.Choices)
		}
	}
	require.Fail(t, "asked without end", "%q", asked)
	return nil, nil
}

// inBase is a cell in the first column of its quantity; numbers as such.
func inBase(column, text string) (string, float64) {
	c, _ := session.Find(column)
	if c.Unit == "" {
		return column, math.NaN()
	}
	var x float64
	fmt.Sscan(text, &x)
	for _, o := range session.Columns() {
		if o.Quantity == c.Quantity {
			return o.Name, c.ToBase(x)
		}
	}
	return column, x
}

// scored compares the lines that were made with the truth: how many cells are
// right, which are wrong, which are neither taken nor in a note.
func scored(truth []session.Row, lines []importer.Line) (right, all int, wrong, lost []string) {
	for i, want := range truth {
		got := session.Row{}
		if i < len(lines) {
			got = lines[i].Cells
		}
		base := map[string]float64{}
		for column, text := range got {
			name, x := inBase(column, text)
			base[name] = x
			if _, ok := want[name]; !ok && column != "note" {
				wrong = append(wrong, fmt.Sprintf("line %d: %s is %s, want none", i+1, column, text))
			}
		}
		for column, text := range want {
			if column == "date" && i > 0 && truth[i-1]["dive"] == want["dive"] {
				continue
			}
			all++
			_, x := inBase(column, text)
			y, has := base[column]
			switch {
			case column == "note":
				if slices.ContainsFunc(strings.Split(text, "; "), func(p string) bool { return p != "" && !strings.Contains(got["note"], p) }) {
					lost = append(lost, fmt.Sprintf("line %d: note is %q, want %q in it", i+1, got["note"], text))
					continue
				}
				right++
			case has && (math.IsNaN(x) && got[column] == text || math.Abs(x-y) <= 1e-5*math.Abs(x)+1e-9):
				right++
			case !has && (got["note"] == "" || math.IsNaN(x)):
				lost = append(lost, fmt.Sprintf("line %d: no %s, want %s", i+1, column, text))
			case has:
				wrong = append(wrong, fmt.Sprintf("line %d: %s is %s or %g, want %s", i+1, column, got[column], y, text))
			}
		}
	}
	return right, all, wrong, lost
}

// Forty invented sheets, ten kinds of mess in four languages: of all cells 95 %
// are right, none is wrong, and none lost.
func TestSheetsAsTheyAre(t *testing.T) {
	v, err := vehicle.Read(strings.NewReader(simulate.VehicleText), "otter.toml")
	require.NoError(t, err)
	right, all := 0, 0
	for l, lang := range tongues {
		for mess := range messes {
			name := fmt.Sprintf("%s-%d", lang.name, mess)
			t.Run(name, func(t *testing.T) {
				made := sheetFile(t, name, func() madeSheet { return makeSheet(t, lang, mess, uint64(100*l+mess+1)) })
				s, err := spreadsheet.Open(strings.NewReader(made.text), name+".csv")
				require.NoError(t, err)
				r, asked := answered(t, s, importer.Known{Thrusters: v.ThrusterNames(), Log: &session.Log{}, Judge: judge(v)}, made.answers)
				assert.Empty(t, r.Problems)
				n, of, wrong, lost := scored(made.truth, r.Lines)
				right, all = right+n, all+of
				assert.Empty(t, wrong)
				assert.Empty(t, lost)
				assert.Len(t, r.Lines, len(made.truth))
				left := 0
				for _, k := range r.Account.Left {
					left += k
				}
				assert.Equal(t, r.Account.Cells, r.Account.Headings+r.Account.Taken+r.Account.Noted+left, "%+v", r.Account)
				t.Logf("%d of %d right; asked %q; %+v; %q", n, of, asked, r.Account, r.Remarks)
			})
		}
	}
	t.Logf("%d of %d cells right", right, all)
	assert.GreaterOrEqual(t, float64(right), 0.95*float64(all))
}

// sheetFile is a sheet in testdata with its truth, made anew by -update.
func sheetFile(t *testing.T, name string, make func() madeSheet) madeSheet {
	t.Helper()
	path := filepath.Join("testdata", "sheets", name)
	made := make()
	var b strings.Builder // a line of JSON each
	lines := json.NewEncoder(&b)
	require.NoError(t, lines.Encode(made.answers))
	for _, row := range made.truth {
		require.NoError(t, lines.Encode(row))
	}
	truth := b.String()
	if *update {
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path+".csv", []byte(made.text), 0o644))
		require.NoError(t, os.WriteFile(path+".jsonl", []byte(truth), 0o644))
	}
	text, err := os.ReadFile(path + ".csv")
	require.NoError(t, err)
	have, err := os.ReadFile(path + ".jsonl")
	require.NoError(t, err)
	assert.Equal(t, made.text, string(text), "the helper makes another sheet: -update")
	assert.Equal(t, truth, string(have), "the helper makes another truth: -update")
	return made
}

// Two volts in a cell are told apart by what the vehicle has at its end.
func TestTwoVoltsOfAVehicle(t *testing.T) {
	v, err := vehicle.Read(strings.NewReader(simulate.VehicleText), "otter.toml")
	require.NoError(t, err)
	k := importer.Known{Thrusters: v.ThrusterNames(), Log: &session.Log{}, Judge: judge(v)}
	for cells, want := range map[string]string{
		"12.7-12.3 12.7-12.4 12.6-12.3": "off 12.7 ,port + starboard 12.3 ,off 12.7 ,port + starboard 12.4 ,off 12.6 ,port + starboard 12.3 ",
		"12.3-8.7 12.4-8.8 12.3-8.6":    "port + starboard 12.3 8.7,port + starboard 12.4 8.8,port + starboard 12.3 8.6",
		"12.3-10.6 12.4-10.7 12.3-10.6": "asked",
	} {
		text := "Date;Motors;Battery (V)\n"
		for i, cell := range strings.Fields(cells) {
			text += fmt.Sprintf("%d.5.2026;left + right;%s\n", i+1, cell)
		}
		s, err := spreadsheet.Open(strings.NewReader(text), "old.csv")
		require.NoError(t, err)
		r := importer.Convert(s, importer.Propose(s, k), k, nil)
		var got []string
		for _, l := range r.Lines {
			got = append(got, l.Cells["thrusters"]+" "+l.Cells["battery_v"]+" "+l.Cells["vehicle_v"])
		}
		if len(r.Asked) > 0 {
			got = []string{"asked"}
		}
		assert.Equal(t, want, strings.Join(got, ","), "%s: %+v %v", cells, r.Asked, r.Problems)
	}
}
