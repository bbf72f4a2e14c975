package importer

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// A mapping that is written reads back as it was, whatever stands in it.
func TestMappingsReadBack(t *testing.T) {
	anyText := rapid.StringOfN(rapid.RuneFrom([]rune("aÄ\"\\\n\t#=[]'\x7f\u2028 ½")), 1, 8, -1)
	rapid.Check(t, func(t *rapid.T) {
		m := &Mapping{Rows: rapid.SampledFrom([]string{Observations, Samples}).Draw(t, "rows"), Dives: ByDate, Date: MonthFirst, Decimal: ",",
			Prefix: rapid.StringOf(rapid.RuneFrom([]rune("ab-\""))).Draw(t, "prefix"), Yes: []string{"x"}, No: []string{}, Empty: []string{anyText.Draw(t, "empty")},
			Thrusters: rapid.MapOfN(anyText, anyText, 0, 3).Draw(t, "thrusters"), Constant: map[string]string{"note": anyText.Draw(t, "constant")}}
		for i, h := range rapid.SliceOfNDistinct(anyText, 0, 4, rapid.ID).Draw(t, "headings") {
			m.Columns = append(m.Columns, Match{Heading: h, To: []string{"battery_v", "", Asked, "depth_ft"}[i], Sure: Likely, Why: "a\nb",
				Times: rapid.Float64Range(1e-9, 1e9).Draw(t, "times"), Plus: rapid.Float64Range(-300, 300).Draw(t, "plus")})
		}
		for _, drive := range rapid.SliceOfNDistinct(anyText, 0, 3, rapid.ID).Draw(t, "drives") {
			m.Columns = append(m.Columns, Match{Heading: "ran " + drive, To: "thrusters", Drive: drive, Sure: Likely, Times: 1})
		}
		if rapid.Bool().Draw(t, "level") {
			m.Levels = []Level{{"current_a", -0.5, rapid.Float64Range(0, 9).Draw(t, "to"), anyText.Draw(t, "drives")}}
		}
		var b bytes.Buffer
		if err := m.Write(&b); err != nil {
			t.Fatal(err)
		}
		got, err := ReadMapping(bytes.NewReader(b.Bytes()), "import.toml")
		if err != nil {
			t.Fatalf("%v in\n%s", err, b.String())
		}
		for i := range m.Columns { // which are not kept
			m.Columns[i].Sure, m.Columns[i].Why = got.Columns[i].Sure, got.Columns[i].Why
		}
		if m.Rows == Samples {
			s := m.settings()
			m.WindowS, m.LeastS, m.SettleS = s.WindowS, s.LeastS, s.SettleS
		}
		if !assert.ObjectsAreEqual(m, got) {
			t.Fatalf("%+v\n%+v in\n%s", m, got, b.String())
		}
	})
}

func TestMistakesInAMapping(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"rows = \"sample\"\n", `import.toml:1: rows: found "sample", want "observations", "samples" (nearest: "samples")`},
		{"\ndate = \"d/m/y\"\n", `import.toml:2: date: found "d/m/y", want "year-month-day", "day.month.year", "month/day/year", "serial", "serial-1904", "?"`},
		{"colunm = 1\n", `import.toml:1: colunm: unknown key (nearest: "column")`},
		{"rows = \n", "import.toml:1: "},
		{"[[column]]\nheading = \"A\"\nto = \"battery_a\"\n", `import.toml:1: column "A": to is "battery_a", want a column of dives.csv, "date time", or "" to leave it out (nearest: "battery_v")`},
		{"[[column]]\nheading = \"A\"\nto = \"depth_m\"\n\n[[column]]\nheading = \"B\"\nto = \"depth_ft\"\n", `import.toml:5: column "B": to is "depth_ft", as "A" is, want one of them`},
		{"[[column]]\nheading = \"A\"\nto = \"held\"\ndrive = \"port\"\n", `import.toml:1: column "A": drive is "port", want to = "thrusters" beside it`},
		{"[[column]]\nheading = \"A\"\nto = \"thrusters\"\ndrive = \"port\"\n[[column]]\nheading = \"B\"\nto = \"thrusters\"\n",
			`import.toml:5: column "B": to is "thrusters", as "A" is, want one of them`},
		{"[[column]]\nheading = \"A\"\nto = \"thrusters\"\ndrive = \"port\"\n[[column]]\nheading = \"B\"\nto = \"thrusters\"\ndrive = \"port\"\n",
			`import.toml:5: column "B": to is "thrusters", as "A" is, want one of them`},
		{"[[column]]\nheading = \"A\"\n[[column]]\nheading = \"A\"\n", `import.toml:3: column "A": stands twice, want it once`},
		{"[[column]]\nheading = \"A\"\ntimes = \"x\"\n", "import.toml:3: "},
		{"[constant]\ndepht_m = \"3\"\n", `import.toml:1: constant: found "depht_m", want a column of dives.csv (nearest: "depth_m")`},
		{"[[level]]\ncolumn = \"note\"\nfrom = 2\nto = 1\n", "import.toml:1: level.column: found \"note\", want a column of numbers\nimport.toml:1: level: from 2 to 1, want the lower first"},
		{"[cut]\nwindow_s = -1\n", "import.toml:1: cut: found -1, want 0 to 3600 s"},
	} {
		_, err := ReadMapping(strings.NewReader(c.text), "import.toml")
		require.Error(t, err, c.text)
		assert.True(t, strings.HasPrefix(err.Error(), c.want), "%s", err)
	}
}

// Headings that a mapping does not know are added at the end of its file.
func TestColumnsAreAddedToAMapping(t *testing.T) {
	text := "# mine\nrows = \"observations\"\n[[column]]\nheading = \"V\"\nto = \"vehicle_v\"\n[thrusters]\nli = \"port\""
	m, err := ReadMapping(strings.NewReader(text), "import.toml")
	require.NoError(t, err)
	s, err := Open(strings.NewReader("V,Depth (m)\n1,2\n"), "old.csv")
	require.NoError(t, err)
	fresh, known := m.Adapt(s, Known{})
	assert.Equal(t, []string{"Depth (m)"}, fresh)
	assert.Equal(t, 1, known)
	var b bytes.Buffer
	require.NoError(t, m.WriteColumns(&b, fresh))
	again, err := ReadMapping(strings.NewReader(text+"\n"+b.String()), "import.toml")
	require.NoError(t, err)
	assert.Equal(t, "vehicle_v", again.find("V").To)
	assert.Equal(t, "depth_m", again.find("Depth (m)").To)
}
