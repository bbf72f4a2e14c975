package importer

import (
	"strings"
	"testing"

	"sagline/session"
	"sagline/session/spreadsheet"
)

// Whatever the file: no panic; either what it becomes is a sound log, or
// something is asked or told with the file's name; and the mapping reads back.
func FuzzConvert(f *testing.F) {
	f.Add(german)
	f.Add("Dive,Date,Battery (V)\n1,3/4/2026,12.3\n")
	f.Add("\xff\xfed\x00;\x00v\x00\n\x001\x00;\x002\x00")
	f.Add("PK\x03\x04")
	f.Add("a\tb\r1\t\"2\r")
	f.Add("Datum;T\xe4tigkeit;Akku [mV]\n1.2.26;=1+1;12'345\n")
	f.Add("Tauchgang;1;2;3\nDatum;1.2.26;;\nAkku (V);12,1;12,0;11\nStrom [A];6;5;\nTiefe (m);1;2;3\n")
	f.Add("Date,Volts/Amps,Remarks\n2026-05-02,12.1V / 6A,took off 2 weights\nTotal,,\nDive 3 – 12.5.2026,,\n")
	f.Add("date time,current_a,thrusters,lights\n2026-05-31T10:00:00Z,1e308,port + port,on\n")
	f.Fuzz(func(t *testing.T, text string) {
		s, err := spreadsheet.Open(strings.NewReader(text), "old.csv")
		if err != nil {
			if !strings.HasPrefix(err.Error(), "old.csv:") {
				t.Fatal(err)
			}
			return
		}
		m := Propose(s, otter)
		taken := Convert(s, m, otter, session.Row{"date": "2026-05-31"})
		left := 0
		for _, n := range taken.Account.Left {
			left += n
		}
		if a := taken.Account; a.Cells != a.Headings+a.Taken+a.Noted+left {
			t.Fatalf("%+v", a)
		}
		for _, p := range taken.Problems {
			if p.File != "old.csv" || p.Text == "" {
				t.Fatalf("%+v", p)
			}
		}
		written, err := m.Text()
		if err != nil {
			t.Fatal(err)
		}
		if _, err := ReadMapping(written, "import.toml"); err != nil {
			t.Fatalf("%v in\n%s", err, written)
		}
		if len(taken.Problems)+len(taken.Asked) > 0 || len(taken.Lines) == 0 {
			return
		}
		rows := Rows(taken.Lines)
		if _, err := session.EditText("dives.csv", "dive,date\n", func(f *session.File) error { return f.Append(rows...) }); err != nil {
			t.Fatalf("%v: %v", err, rows)
		}
	})
}

// Whatever the text: a mapping or problems with their place, never a panic.
func FuzzReadMapping(f *testing.F) {
	f.Add("dives = \"date\"\n[[column]]\nheading = \"A\"\nto = \"note\"\n[thrusters]\na = \"b\"\n")
	f.Add("[[column]]\nheading = \"A\"\ntimes = nan\nplus = inf\n")
	f.Add("column = [{heading = \"A\"}]\n\"x\\u0000\" = 1\n")
	f.Fuzz(func(t *testing.T, text string) {
		if _, err := ReadMapping([]byte(text), "import.toml"); err != nil && !strings.HasPrefix(err.Error(), "import.toml:") {
			t.Fatal(err)
		}
	})
}
