//go:build !race

package diagnose_test

const racing = false
