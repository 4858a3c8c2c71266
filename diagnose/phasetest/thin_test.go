//go:build !race

package phasetest

const thin = 1
