//go:build !race

package learn

const racing = false
