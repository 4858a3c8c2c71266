//go:build !race

package asleft_test

const racing = false
