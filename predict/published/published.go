// Package published reads tables of published values with which tests compare the model. A table's
// source is in its first line.
package published

import (
	"encoding/csv"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

// Rows returns the numbers of a CSV file's rows by column; cells that are no numbers are left out.
func Rows(t testing.TB, path string) (rows []map[string]float64) {
	t.Helper()
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	all, err := r.ReadAll()
	require.NoError(t, err)
	for _, rec := range all[1:] {
		row := map[string]float64{}
		for i, c := range rec {
			if x, err := strconv.ParseFloat(c, 64); err == nil {
				row[all[0][i]] = x
			}
		}
		rows = append(rows, row)
	}
	require.NotEmpty(t, rows)
	return rows
}
