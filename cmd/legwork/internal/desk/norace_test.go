//go:build !race

package desk

const racing = false
