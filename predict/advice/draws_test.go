package advice

import "flag"

// Property tests draw the same cases on every run, so that a change fails by
// its own fault; -rapid.seed=0 draws others, and -rapid.checks more of them.
func init() {
	_ = flag.Set("rapid.seed", "1")
	_ = flag.Set("rapid.checks", "40")
}
