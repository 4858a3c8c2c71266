package help

import (
	"embed"
	"strings"
)

// Topic is one page.
type Topic struct{ Name, Short, Text string }

// order is how the pages are listed.
var order = []string{"ct-direction", "lead-marks", "phase-test", "safety", "limits", "seen", "captures", "unknown-meter", "windows", "whole-job"}

//go:embed topics
var pages embed.FS

// Ledger is the format of a ledger's file, for the help of that command.
//
//go:embed formats/ledger.txt
var Ledger string

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
