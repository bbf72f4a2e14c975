package wording

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// A Piece is one number of a cell with several, with its unit; nil: none.
type Piece struct {
	Number string
	Unit   *Unit
}

var (
	someNumber = regexp.MustCompile(`\d+(?:[.,]\d+)?`)
	parted     = regexp.MustCompile(`^(.*?)(?:\s*(?:[/;|,–→&+-]|\b(?:to|bis|à|a|y|et|und|and|in|en)\b)\s*|\s+)?$`) // a unit, and what parts it from the next number
)

// mostPieces is more than a person reads into one cell.
const mostPieces = 6

// Pieces takes a cell with several numbers apart; nil where it is one number or
// says something else. Blanks alone part numbers that have units.
func Pieces(text string) (out []Piece) {
	at := someNumber.FindAllStringIndex(text, mostPieces+1)
	if len(at) < 2 || len(at) > mostPieces || IsNumber(text) || strings.Trim(text[:at[0][0]], "+-") != "" {
		return nil
	}
	for i, a := range at {
		end := len(text)
		if i+1 < len(at) {
			end = at[i+1][0]
		}
		p, between := Piece{Number: text[a[0]:a[1]]}, text[a[1]:end]
		if i == 0 {
			p.Number = text[:a[1]]
		}
		written := strings.TrimSpace(parted.FindStringSubmatch(between)[1])
		if u, ok := FindUnit(written); ok {
			p.Unit = &u
		} else if written != "" || end < len(text) && strings.TrimSpace(between) == "" {
			return nil
		}
		out = append(out, p)
	}
	return out
}

// unitsOf are the units of pieces that measure each something else, in their
// order; nil where one has none or two measure the same.
func unitsOf(ps []Piece) (out []*Unit) {
	for i, p := range ps {
		if p.Unit == nil || slices.ContainsFunc(ps[:i], func(o Piece) bool { return o.Unit.Dimension == p.Unit.Dimension }) {
			return nil
		}
		out = append(out, p.Unit)
	}
	return out
}

// Alike are the cells with several numbers that are most alike by how many they
// have, of what; of are their units, nil where these do not tell them apart, and all
// is how many cells have several numbers.
func Alike(cells []string) (like [][]Piece, of []*Unit, all int) {
	by := map[string][][]Piece{}
	for _, c := range cells {
		ps := Pieces(c)
		if ps == nil {
			continue
		}
		var shape []string
		for _, u := range unitsOf(ps) {
			shape = append(shape, u.Dimension)
		}
		slices.Sort(shape)
		key := fmt.Sprint(len(ps), shape)
		if by[key], all = append(by[key], ps), all+1; len(by[key]) > len(like) {
			like = by[key]
		}
	}
	if all > 0 {
		of = unitsOf(like[0])
	}
	return like, of, all
}

// Rise says whether the second number of most pairs is the greater.
func Rise(cells [][]Piece) bool {
	n := 0
	for _, ps := range cells {
		a, _ := strconv.ParseFloat(strings.Replace(ps[0].Number, ",", ".", 1), 64)
		b, _ := strconv.ParseFloat(strings.Replace(ps[1].Number, ",", ".", 1), 64)
		n += cmp.Compare(b, a)
	}
	return n > 0
}
