//go:build pages || !js

package calls

import (
	"bytes"
	"io"
	"strconv"
	"strings"

	"sagline/plotting"
	"sagline/plotting/report"
	"sagline/predict"
	"sagline/predict/advice"
)

// Only the larger model has the calls that make pages. It is fetched after the small one, which is
// enough to type lines.
func init() {
	all["report"], all["card"] = (*Logbook).pageOfDives, (*Logbook).card
}

// pageOfDives returns the page that the report command writes.
func (b *Logbook) pageOfDives(*Arguments) (Answer, error) {
	if err := b.judge(); err != nil {
		return Answer{}, err
	}
	v := report.Read(b.fitted, b.report, b.log, report.Options{})
	p := report.Page{Vehicles: []*report.Vehicle{v}, Cautions: strings.Join(advice.AllCautions(), " ")}
	return written(p.Write)
}

// card returns the page that the sheet command writes. The row gives the next dive's depth and water.
func (b *Logbook) card(a *Arguments) (Answer, error) {
	if err := b.judge(); err != nil {
		return Answer{}, err
	}
	next := plotting.LikeTheNewest(b.log)
	next.Today = b.today
	row, wrong := b.typed(a.Row)
	if err := first(wrong); err != nil {
		return Answer{}, err
	}
	for name, to := range map[string]*float64{"depth_m": &next.DepthM, "water_c": &next.WaterC, "salinity_psu": &next.SalinityPSU} {
		if x, err := strconv.ParseFloat(row[name], 64); err == nil { // an empty cell keeps the default
			*to = x
		}
	}
	if v := b.fitted.Model.Vehicle; row["depth_m"] == "" {
		next.DepthM = advice.TypicalDepth(v, next.DepthM, v.MostTetherM(), predict.WaterDensity(next.WaterC, max(next.SalinityPSU, b.log.SaltiestPSU())))
	}
	return written(plotting.ReadSheet(b.fitted, b.report, b.log, next).WriteHTML)
}

func written(write func(io.Writer) error) (Answer, error) {
	var page bytes.Buffer
	err := write(&page)
	return Answer{Value: true, Files: []string{page.String()}}, err
}
