package importer

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sagline/session/spreadsheet"
	"sagline/session/wording"
)

// A mapping that is written reads back as it was, whatever stands in it.
func TestMappingsReadBack(t *testing.T) {
	anyText := rapid.StringOfN(rapid.RuneFrom([]rune("aÄ\"\\\n\t#=[]'\x7f\u2028 ½")), 1, 8, -1)
	rapid.Check(t, func(t *rapid.T) {
		m := &Mapping{Dives: ByDate, Date: wording.MonthFirst, Decimal: ",", Work: "no", Alone: "first", Yes: []string{"x"}, No: []string{}, Empty: []string{anyText.Draw(t, "empty")},
			Thrusters: rapid.MapOfN(anyText, anyText, 0, 3).Draw(t, "thrusters"), Notes: rapid.MapOfN(anyText, rapid.Just("ballast_g -5"), 0, 2).Draw(t, "notes")}
		for i, h := range rapid.SliceOfNDistinct(anyText, 0, 4, rapid.ID).Draw(t, "headings") {
			m.Columns = append(m.Columns, Match{Heading: h, To: []string{"battery_v", "", Asked, "depth_ft"}[i], Sure: Likely, Why: "a\nb",
				Times: rapid.Float64Range(1e-9, 1e9).Draw(t, "times"), Plus: rapid.Float64Range(-300, 300).Draw(t, "plus")})
		}
		for _, drive := range rapid.SliceOfNDistinct(anyText, 0, 3, rapid.ID).Draw(t, "drives") {
			m.Columns = append(m.Columns, Match{Heading: "ran " + drive, To: "thrusters", Drive: drive, Sure: Likely, Times: 1})
		}
		text, err := m.Text()
		if err != nil {
			t.Fatal(err)
		}
		got, err := ReadMapping(text, "import.toml")
		if err != nil {
			t.Fatalf("%v in\n%s", err, text)
		}
		for i := range m.Columns { // which are not kept
			m.Columns[i].Sure, m.Columns[i].Why, m.Columns[i].given = got.Columns[i].Sure, got.Columns[i].Why, got.Columns[i].given
		}
		if len(m.Columns) == 0 {
			m.Columns = got.Columns
		}
		if !assert.ObjectsAreEqual(m, got) {
			t.Fatalf("%+v\n%+v in\n%s", m, got, text)
		}
	})
}

func TestMistakesInAMapping(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"dives = \"dat\"\n", `import.toml: dives: found "dat", want "column", "date", "file" (nearest: "date")`},
		{"\ndate = \"d/m/y\"\n", `import.toml: date: found "d/m/y", want "year-month-day", "day.month.year", "month/day/year", "?"`},
		{"colunm = 1\n", `import.toml:1: colunm: unknown key (nearest: "column")`},
		{"dives = \n", "import.toml:1: "},
		{"[[column]]\nheading = \"A\"\nto = \"battery_a\"\n", `import.toml: column "A": to: found "battery_a", want "dive", "date", "battery", `},
		{"[[column]]\nto = \"note\"\n", `import.toml: column: no heading, want the file's`},
		{"[[column]]\nheading = \"A\"\nto = \"depth_m\"\n\n[[column]]\nheading = \"B\"\nto = \"depth_ft\"\n", `import.toml: column "B": to is "depth_ft", as "A" is, want one of them`},
		{"[[column]]\nheading = \"A\"\nto = \"held\"\ndrive = \"port\"\n", `import.toml: column "A": drive is "port", want to = "thrusters" beside it`},
		{"[[column]]\nheading = \"A\"\nto = \"thrusters\"\ndrive = \"port\"\n[[column]]\nheading = \"B\"\nto = \"thrusters\"\n",
			`import.toml: column "B": to is "thrusters", as "A" is, want one of them`},
		{"[[column]]\nheading = \"A\"\nto = \"thrusters\"\ndrive = \"port\"\n[[column]]\nheading = \"B\"\nto = \"thrusters\"\ndrive = \"port\"\n",
			`import.toml: column "B": to is "thrusters", as "A" is, want one of them`},
		{"[[column]]\nheading = \"A\"\nto = \"note\"\n[[column]]\nheading = \"A\"\nto = \"\"\n", `import.toml: column "A": stands twice, want it once`},
		{"[[column]]\nheading = \"A\"\ntimes = \"x\"\n", "import.toml:3: "},
	} {
		_, err := ReadMapping([]byte(c.text), "import.toml")
		require.Error(t, err, c.text)
		assert.True(t, strings.HasPrefix(err.Error(), c.want), "%s", err)
	}
}

// Headings that a mapping does not know are proposed; its own stay as they are.
func TestAMappingIsAdapted(t *testing.T) {
	m, err := ReadMapping([]byte("[[column]]\nheading = \"V\"\nto = \"vehicle_v\"\n"), "import.toml")
	require.NoError(t, err)
	s, err := spreadsheet.Open(strings.NewReader("V,Depth (m)\n1,2\n"), "old.csv")
	require.NoError(t, err)
	m.Adapt(s, otter)
	assert.Equal(t, "vehicle_v", m.find("V").To)
	assert.Equal(t, "depth_m", m.find("Depth (m)").To)
}

// Answers go into the file that is there; every other byte stays.
func TestAnswersInAKeptMapping(t *testing.T) {
	text := "# ours\ndives = \"date\"\ndate = \"?\" # which?\n\n[[column]]\nheading = \"Date\"\nto = \"date\"\n\n[[column]]\nheading = \"Depth\"\nto = \"?\"\ntimes = 5.0\n\n[thrusters]\nli = \"port\" # left\n"
	m, err := ReadMapping([]byte(text), "import.toml")
	require.NoError(t, err)
	s := source(t, "Date;Volts;Depth;Speed;Motors\n3/4/2026;12.1;3;2;li\n5/4/2026;12.1;3;2;no. 3\n")
	m.Adapt(s, otter)
	for _, want := range []string{wording.DayFirst, "depth_ft", "speed_kn", "vertical"} {
		q := Convert(s, m, otter, nil).Asked[0]
		require.NoError(t, q.Answer(want), q.Text)
	}
	got, err := m.Edit([]byte(text), "import.toml", nil)
	require.NoError(t, err)
	assert.Equal(t, strings.NewReplacer("date = \"?\"", "date = 'day.month.year'", "to = \"?\"", "to = 'depth_ft'").Replace(text)+
		"\"no. 3\" = 'vertical'\n\n[[column]]\nheading = 'Speed'\nto = 'speed_kn'\n", string(got))
	again, err := ReadMapping(got, "import.toml")
	require.NoError(t, err)
	assert.Equal(t, "vertical", again.Thrusters["no. 3"])
	_, err = m.Edit([]byte("thrusters = { li = \"port\" }\ndate = \"?\"\n"), "import.toml", nil)
	assert.EqualError(t, err, "import.toml: found no place for thrusters.\"no. 3\", want a line \"no. 3\" = 'vertical' of its own under [thrusters]")
}
