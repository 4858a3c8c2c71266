package diagnose_test

import (
	"encoding/csv"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

// rowsOf are the rows of a file of numbers, its heading first.
func rowsOf(t testing.TB, file string) [][]string {
	f, err := os.Open("../testdata/" + file)
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	return rows
}

// number is what a cell holds.
func number(t testing.TB, cell string) float64 {
	x, err := strconv.ParseFloat(cell, 64)
	require.NoError(t, err)
	return x
}
