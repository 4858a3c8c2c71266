package diagnose_test

import (
	"testing"

	"legwork/diagnose"
)

// tables are made once for all tests of the package.
var tables = diagnose.NewTables()

// tabulates marks a test that prints a table of shares over many panels.
func tabulates(t *testing.T) {
	if testing.Short() {
		t.Skip("a table of shares over many panels")
	}
}
