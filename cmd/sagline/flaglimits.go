package main

import (
	"fmt"
	"strconv"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"sagline/predict/advice"
)

// flagLimits are what may be asked for on the command line, in the unit that the
// flag's name ends in, whichever command it is given to.
var flagLimits = map[string]struct{ lowest, highest float64 }{
	"open-circuit-v": {0.1, 75}, // a battery of up to 60 V nominal, being charged
	"depth-m":        {0, 300},
	"tether-out-m":   {0, 2000},
	"offset-m":       {-2000, 2000},
	"current-m-s":    {0.001, strongest},
	"water-c":        {-3, 45},
	"salinity-psu":   {0, 45},
	"want-g":         {-1e6, 1e6},
	"copper-share":   {0.001, 1},
	"size":           {1e-6, 1000},
	"lengths-m":      {0.5, 1000},
	"batteries-v":    {2, advice.HighestV},
	"want-m-s":       {0, strongest},
	"want-vehicle-v": {0, 75},
	"want-fuse-a":    {0.1, 500},
}

// checkFlagLimits refuses numbers that no one can mean, NaN and infinities among
// them.
func checkFlagLimits(cmd *cobra.Command, _ []string) (err error) {
	cmd.Flags().Visit(func(f *pflag.Flag) {
		s, ok := flagLimits[f.Name]
		texts := []string{f.Value.String()}
		if list, many := f.Value.(pflag.SliceValue); many {
			texts = list.GetSlice()
		} else if f.Value.Type() != "float64" {
			return
		}
		for _, text := range texts {
			x, _ := strconv.ParseFloat(text, 64)
			if ok && err == nil && !(x >= s.lowest && x <= s.highest) {
				err = useError{fmt.Errorf("--%s: found %g, want %g to %g", f.Name, x, s.lowest, s.highest)}
			}
		}
	})
	return err
}
