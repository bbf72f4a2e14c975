package fit

import (
	"sagline/predict"
	"sagline/predict/vehicle"
	"sagline/session"
)

// A Bench is a log ready to have its parts fitted one by one.
type Bench struct {
	m     *predict.Model
	l     layout
	dives []dive
	base  predict.Params
	sc    *scratch
}

// NewBench readies a log; the last dive's slips are marked.
func NewBench(v *vehicle.Vehicle, log *session.Log) (*Bench, error) {
	m := predict.NewModel(v)
	dives, err := match(m, log)
	if err != nil {
		return nil, err
	}
	return &Bench{m, newLayout(m), dives, m.NewParams(), newScratch(newLayout(m), mostCells(dives))}, nil
}

// fresh is a copy of some dives, as they are before any fit.
func (b *Bench) fresh(from, to int) []*dive {
	var out []*dive
	for i := from; i < to; i++ {
		d := b.dives[i]
		d.cells = append([]Cell(nil), d.cells...)
		out = append(out, &d)
	}
	return out
}

// Calibrate fits the first n dives together.
func (b *Bench) Calibrate(n int) error {
	_, _, err := calibrate(b.m, b.l, b.fresh(0, n), b.sc)
	return err
}

// Dive fits dive i alone.
func (b *Bench) Dive(i int) error {
	_, err := fitDive(b.m, b.l, b.fresh(i, i+1)[0], b.base, b.sc)
	return err
}
