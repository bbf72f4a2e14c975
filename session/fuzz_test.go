package session

import (
	"bytes"
	"runtime"
	"strings"
	"testing"
)

// Whatever the text: no panic, either a log of finite numbers or problems with
// their place, and a log that writes and reads back as it was. The text is
// tried as a file, and as the cells that follow a sound beginning, which
// mutations of whole files seldom leave sound.
func FuzzRead(f *testing.F) {
	f.Add(header + "1,2026-05-02,2,off,,12.7,10,20,40,10,9,100,joint,x\n1,,4,port astern + lift,yes,,,,,,,-30,,\"a\nb\"\n")
	f.Add("\ufeffdive;date;battery_v;;\r\n1;2026-05-02;12,7;;\r\n;;;;\r\n")
	f.Add("dive\tdate\ttime\tclimb_ft\tclimb_s\n#x\n1\t2026-05-02\t23:50\t-3\t12\n1\t\t0:10\n")
	f.Add("note,dive,date,speed_kn,water_f,pull_lbf,trim_oz,ballast_oz,salinity_psu\n'=1,#1,2026-05-02,1e-1,50.5,.5,\u22123,7,33\n")
	f.Add("\xff\xfed\x00i\x00v\x00e\x00\n\x00")
	f.Add(",1,,port,on,yes,12.7,9.6,6,3,14,,10,20,40,,-3,12,50,8,0.5,20,9,33,100,seal+joint,'=1\n1,,2,,,,,,,,,,0.4")
	f.Add(",,23:50,off,,,,,,,,,,,,0.1\n1,,,0:10\n\"'#2\",2026-05-03,,,=x astern+y\n")
	sound := strings.Join(metric, ",") + "\n1,2026-05-02"
	f.Fuzz(func(t *testing.T, text string) {
		readsBack(t, text)
		readsBack(t, sound+text)
	})
}

func readsBack(t *testing.T, text string) {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	log, err := Read(strings.NewReader(text), "dives.csv")
	runtime.ReadMemStats(&after)
	if got, most := after.TotalAlloc-before.TotalAlloc, uint64(8*len(text)+64<<20); got > most {
		t.Fatalf("%d bytes took %d bytes of memory", len(text), got)
	}
	if err != nil {
		if log != nil || !strings.HasPrefix(err.Error(), "dives.csv:") {
			t.Fatalf("log %v beside error %v", log, err)
		}
		return
	}
	columns := finite(t, log)
	var b bytes.Buffer
	if err := Write(&b, columns, log); err != nil {
		t.Fatal(err)
	}
	again, err := Read(bytes.NewReader(b.Bytes()), "dives.csv")
	if err != nil {
		t.Fatalf("%v in\n%s", err, b.String())
	}
	if d := difference(log, again, rounding); d != "" {
		t.Fatalf("%s in\n%s", d, b.String())
	}
}
