package diagnose_test

import "legwork/diagnose"

// tables are made once for all tests of the package.
var tables = diagnose.NewTables()
