package report

import (
	"context"
	"os"
	"strconv"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// How long it takes until the page of a fleet of 54 vehicles of 30 dives shows,
// and is loaded, in a browser whose page runs SLOWED times slower than this
// machine; it judges nothing.
func TestSlowed(t *testing.T) {
	times, err := strconv.ParseFloat(os.Getenv("SLOWED"), 64)
	if err != nil {
		t.Skip("SLOWED does not say how many times slower than this machine")
	}
	p := ofSeason(t, 30)
	for range 53 {
		v := *p.Vehicles[0]
		p.Vehicles = append(p.Vehicles, &v)
	}
	bytes := len(written(t, p))
	for _, width := range []int64{360, 1200} {
		b := browse(t, p, width, false)
		require.NoError(t, chromedp.Do(b, chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
			_, err := cdp.Call(ctx, t, emulation.SetCPUThrottlingRate, emulation.SetCPUThrottlingRateParams{Rate: times})
			return err
		}), chromedp.Reload()))
		at := ask[[]float64](t, b, `new Promise(r => setTimeout(r, 0)).then(() => [performance.getEntriesByName('first-contentful-paint')[0].startTime, performance.getEntriesByType('navigation')[0].loadEventEnd])`)
		t.Logf("%d px, %g times slower, %.2f MB: words show after %.1f s, all is loaded after %.1f s", width, times, float64(bytes)/1e6, at[0]/1000, at[1]/1000)
	}
}
