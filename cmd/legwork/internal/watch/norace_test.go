//go:build !race

package watch

const racing = false
