// Package help holds the pages of `legwork help`: the trade's side in our own
// words, a file each. What is said there is common practice, no source, unless
// one stands with it; the names of the marks on CTs are those of IEC 61869-2
// and IEEE C57.13, from memory.
package help

import (
	"embed"
	"strings"
)

// Topic is one page.
type Topic struct{ Name, Short, Text string }

// order is how the pages are listed.
var order = []string{"ct-direction", "lead-marks", "phase-test", "safety", "limits", "seen", "whole-job"}

//go:embed topics
var pages embed.FS

// Topics gives the pages in their order. The first line of a page's file is
// what lists say of it.
func Topics() []Topic {
	var all []Topic
	for _, name := range order {
		page, _ := pages.ReadFile("topics/" + name + ".txt") // it is embedded; a test holds that
		short, text, _ := strings.Cut(string(page), "\n\n")
		all = append(all, Topic{name, short, text})
	}
	return all
}
