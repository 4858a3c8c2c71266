package main

import (
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// riddles are phrases that readers stumbled over, and may not come back.
var riddles = []string{
	"conductor of a lower input", "an odd CT", "those the law names", "those whom the law names", "no prank",
	"counted twice?", "there is is", "ASCII-free Unicode", "here stands", "shows what the meter can't know",
	"its own x ", "of none, and the deviation", "1 changes of load", "bits worth", "states that may be the one",
}

func TestNoRiddles(t *testing.T) {
	list, err := exec.Command("git", "-C", "../..", "ls-files").Output()
	if err != nil {
		t.Skip("not a checkout of git")
	}
	read := 0
	for _, name := range strings.Fields(string(list)) {
		if !slices.ContainsFunc([]string{".go", ".md", ".txt", ".html", ".tmpl", ".golden"}, func(end string) bool { return strings.HasSuffix(name, end) }) ||
			strings.HasSuffix(name, "words_test.go") {
			continue
		}
		src, err := os.ReadFile("../../" + name)
		if os.IsNotExist(err) {
			continue
		}
		require.NoError(t, err)
		text := strings.Join(strings.Fields(string(src)), " ")
		for _, phrase := range riddles {
			require.NotContains(t, text, phrase, name)
		}
		read++
	}
	require.Greater(t, read, 300)
}
