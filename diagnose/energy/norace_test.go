//go:build !race

package energy

const racing = false
