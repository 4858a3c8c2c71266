package phasetest

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
)

// entry is a line of a worksheet: blanks, key, value, remark.
var entry = regexp.MustCompile(`^([ \t]*)("[^"]*"|'[^']*'|[^\s"'#:]+):([^#\r]*?)([ \t]+#.*|\s*)$`)

// Fill writes a reading into a worksheet, behind those of its pair that are there,
// and leaves everything else as a person wrote it.
func (t Test) Fill(src []byte, r Reading) ([]byte, error) {
	_, before, err := ParseSheet("", src)
	if err != nil {
		return nil, err
	}
	value := r.Said
	if value == "" {
		value = t.shown(r)
	}
	lines := strings.Split(string(src), "\n")
	at, filled := t.entryOf(lines, r.Pair), ""
	if at < 0 {
		at = t.lastEntry(lines)
		filled = fmt.Sprintf("  %s: %s", PairName(t.Service, r.Pair), value)
		lines = slices.Insert(lines, at+1, filled)
	} else {
		lines[at] = withValue(lines[at], value)
	}
	out := []byte(strings.Join(lines, "\n"))
	if _, after, err := ParseSheet("", out); err != nil || !follows(before, after, r) {
		return nil, fmt.Errorf("%s can't be filled in; write each pair and its values on one line, such as `%s: [%s]`",
			PairName(t.Service, r.Pair), PairName(t.Service, r.Pair), t.twice())
	}
	return out, nil
}

// follows reports that a reading was added behind the others of its pair, and
// nothing else was changed.
func follows(before, after []Reading, r Reading) bool {
	last := -1
	for n := range after {
		if after[n] == r {
			last = n
		}
	}
	return last >= 0 && slices.Equal(before, slices.Delete(slices.Clone(after), last, last+1))
}

// entryOf is the line of a pair, or -1.
func (t Test) entryOf(lines []string, p Pair) int {
	return slices.IndexFunc(lines, func(line string) bool {
		at, ok := t.pairOfLine(line)
		return ok && at == p
	})
}

// lastEntry is the line of the last pair, or of the word readings.
func (t Test) lastEntry(lines []string) int {
	last := -1
	for n, line := range lines {
		if _, ok := t.pairOfLine(line); ok || keyOf(line) == "readings" {
			last = n
		}
	}
	return last
}

func (t Test) pairOfLine(line string) (Pair, bool) {
	ends := pairShape.FindStringSubmatch(keyOf(line))
	if ends == nil {
		return Pair{}, false
	}
	p, err := t.parsePair(ends[1], ends[2])
	return p, err == nil
}

func keyOf(line string) string {
	parts := entry.FindStringSubmatch(line)
	if parts == nil {
		return ""
	}
	return strings.Trim(parts[2], `"'`)
}

// withValue puts a value behind those of a line.
func withValue(line, value string) string {
	parts := entry.FindStringSubmatch(line)
	switch old := strings.TrimSpace(parts[3]); {
	case old == "" || old == "~" || old == "null":
	case strings.HasPrefix(old, "["):
		value = strings.TrimSuffix(old, "]") + ", " + value + "]"
	default:
		value = "[" + old + ", " + value + "]"
	}
	return parts[1] + parts[2] + ": " + value + parts[4]
}

// Fields of a worksheet that FillProved sets.
const (
	ProvedBefore = "proved-before"
	ProvedAfter  = "proved-after"
)

// FillProved says in a worksheet that the tester was proved before, or after.
func FillProved(src []byte, field string) ([]byte, error) {
	lines := strings.Split(string(src), "\n")
	at := slices.IndexFunc(lines, func(line string) bool { return keyOf(line) == field })
	if at < 0 {
		at = slices.IndexFunc(lines, func(line string) bool { return keyOf(line) == "readings" })
		if at < 0 {
			return nil, errors.New("the worksheet has no readings; begin from one that --worksheet wrote")
		}
		return []byte(strings.Join(slices.Insert(lines, at, field+": true"), "\n")), nil
	}
	parts := entry.FindStringSubmatch(lines[at])
	lines[at] = parts[1] + parts[2] + ": true" + parts[4]
	return []byte(strings.Join(lines, "\n")), nil
}
