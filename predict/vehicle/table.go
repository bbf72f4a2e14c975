package vehicle

import (
	"strings"
)

// priorOf is what a file like this would have of a key that it leaves out;
// false where nothing is assumed, or of what there is none.
func (v *Vehicle) priorOf(k *key) (Belief, bool) {
	if k.prior.median == nil || v.count(k) == 0 {
		return Belief{}, false
	}
	if !k.numeric() {
		x := k.prior.median(v, 0)
		return Belief{Value: x, Low: x, High: x}, true
	}
	b := v.priorBelief(k, 0)
	return b, !b.isNone(k)
}

// A Row is one key of the table, for people and scripts.
type Row struct {
	Key      string   `json:"key"`
	Unit     string   `json:"unit"`
	Required bool     `json:"required"`
	Accepted string   `json:"accepted"`
	Words    []string `json:"words,omitempty"` // of a key of words
	Typical  *float64 `json:"typical"`         // where it is left out; nil: nothing is assumed
	Word     string   `json:"word,omitempty"`
	Low      *float64 `json:"low"` // 95 %
	High     *float64 `json:"high"`
	Is       string   `json:"is"`
	FindOut  string   `json:"find_out"`
	Source   string   `json:"source"`
}

// Table is every key there is, with what is assumed of those that this
// vehicle's file leaves out or would, were they left out.
func (v *Vehicle) Table() (out []Row) {
	for j := range keys {
		out = append(out, v.row(&keys[j]))
	}
	return out
}

// Describe is the row of a key by its path as Set takes it; empty for none.
func (v *Vehicle) Describe(path string) Row {
	k, _, err := v.find(path)
	if err != nil {
		return Row{}
	}
	return v.row(k)
}

func (v *Vehicle) row(k *key) Row {
	r := Row{Key: strings.Replace(k.path, ".*.", ".NAME.", 1), Unit: k.unit, Required: k.need, Accepted: k.want(), Words: k.words, Word: k.prior.word,
		Is: k.is, FindOut: k.how, Source: k.prior.source}
	if b, ok := v.priorOf(k); ok {
		r.Typical, r.Low, r.High = &b.Value, &b.Low, &b.High
	}
	return r
}
