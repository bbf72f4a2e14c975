// Package published reads tables of published values, which tests hold the
// model against; a table's source stands in its first line.
package published

import (
	"encoding/csv"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

// Rows are the numbers of a CSV file's rows, by column; what is no number is left
// out.
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
