package session_test

import (
	"fmt"
	"os"
	"strings"

	"sagline/session"
)

// A log is read, one reading is looked at in two units, and the log is written
// in metres.
func Example() {
	log, err := session.Read(strings.NewReader(`# first swim of the year
dive;date;thrusters;depth_ft;battery_v;note
1;2026-05-02;off;0;12,8;
1;;port + starboard;10;12,1;"steady, calm"
`), "dives.csv")
	if err != nil {
		fmt.Println(err)
		return
	}
	depth := log.Dives[0].Lines[1].Depth
	fmt.Printf("%g %s is %.3f m; 6 m would read %.1f\n", depth.Entered, depth.Column.Unit, depth.X, depth.EnteredFor(6))
	if err := session.Write(os.Stdout, []string{"dive", "date", "thrusters", "depth_m", "battery_v", "note"}, log); err != nil {
		fmt.Println(err)
	}
	// Output:
	// 10 ft is 3.048 m; 6 m would read 19.7
	// dive,date,thrusters,depth_m,battery_v,note
	// 1,2026-05-02,off,0,12.8,
	// 1,,port + starboard,3.048,12.1,"steady, calm"
}

// All problems of a file are told at once, each with its place.
func ExampleRead() {
	_, err := session.Read(strings.NewReader(`dive,date,battery_v,held
1,2026-05-02,"12,3 V",
1,,-12.6,perhaps
`), "dives.csv")
	fmt.Println(err)
	// Output:
	// dives.csv:2: column "battery_v": found "12,3 V", want a number in V with a decimal point
	// dives.csv:3: column "held": found "perhaps", want yes, no or nothing
	// dives.csv:3: column "battery_v": found "-12.6", want 0 to 1000 V
}

func ExampleFind() {
	c, _ := session.Find("pull_lbf")
	fmt.Printf("%s [%s]: 2 are %.2f N\n", c.Help, c.Unit, c.ToBase(2))
	// Output: static pull of a held vehicle [lbf]: 2 are 8.90 N
}
