package drift_test

import (
	"os"
	"runtime/debug"
	"testing"
)

func TestMain(m *testing.M) {
	debug.SetGCPercent(300) // as cmd/sagline does: a tenth of the time goes into collecting
	os.Exit(m.Run())
}
