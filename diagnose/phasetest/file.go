package phasetest

import (
	"fmt"
	"strings"

	"legwork/diagnose/wiring"
	"legwork/probe/sheet"
)

// fileVersion is the version of the worksheet's format.
const fileVersion = 1

// ParseSheet reads a worksheet that a person filled in. The error is a
// *sheet.Faults: every fault of the file, with line and column. A value left
// blank is a reading not taken; a list of values is a pair read more than once.
func ParseSheet(file string, src []byte) (Test, []Reading, error) {
	s, root := sheet.Open(file, src)
	if err := s.Err(); err != nil {
		return Test{}, nil, err
	}
	f := root.Fields("legwork-phasetest", "service", "high-leg", "method", "proved-before", "proved-after", "readings")
	needed(root, f, "legwork-phasetest").Int(fileVersion, fileVersion)
	t, ok := testOf(root, f)
	var all []Reading
	if ok {
		all = t.readSheet(f["readings"])
	}
	return t, all, s.Err()
}

// needed gives a field and reports one that is missing.
func needed(root sheet.Node, f map[string]sheet.Node, name string) sheet.Node {
	if !f[name].Is() {
		root.FaultAt(1, 1, name+" is missing", "write `"+name+": ...`, or begin from a worksheet that was written with --worksheet")
	}
	return f[name]
}

// testOf reads what stands above the readings.
func testOf(root sheet.Node, f map[string]sheet.Node) (Test, bool) {
	var t Test
	name, ok := needed(root, f, "service").Text()
	if !ok {
		return t, false
	}
	service, err := wiring.ParseService(name)
	if err != nil {
		f["service"].Fault(err.Error(), "")
		return t, false
	}
	t.Service = service
	if filled(f["method"]) {
		how, _ := f["method"].OneOf("live", "dead")
		t.Dead = how == "dead"
	}
	if letter, ok := optionalText(f["high-leg"]); ok {
		if t.Service.HighLeg, err = ParseHighLeg(service, letter); err != nil {
			f["high-leg"].Fault(err.Error(), "")
		}
	}
	t.Proved = said(f["proved-before"]) && said(f["proved-after"])
	return t, true
}

// filled reports a value that isn't blank.
func filled(n sheet.Node) bool { return n.Is() && len(n.List()) > 0 }

func optionalText(n sheet.Node) (string, bool) {
	if !filled(n) {
		return "", false
	}
	return n.Text()
}

func said(n sheet.Node) bool {
	if !filled(n) {
		return false
	}
	yes, _ := n.Bool()
	return yes
}

func (t Test) readSheet(n sheet.Node) []Reading {
	var all []Reading
	seen := map[Pair]string{}
	for _, e := range n.Entries() {
		ends := ends.FindStringSubmatch(strings.TrimSpace(e.Name))
		if ends == nil {
			e.Value.AtKey().Fault(fmt.Sprintf("%q is no pair of points", e.Name), "write it such as "+PairName(t.Service, cross(1, 1)))
			continue
		}
		pair, err := t.parsePair(ends[1], ends[2])
		if err != nil {
			e.Value.AtKey().Fault(fmt.Sprintf("%q: %v", e.Name, err), "")
			continue
		}
		if first, twice := seen[pair]; twice {
			e.Value.AtKey().Fault(fmt.Sprintf("%q is the same pair as %q", e.Name, first), "write a pair that was read twice as a list, such as [0.2 V, 0.3 V]")
			continue
		}
		seen[pair] = e.Name
		all = append(all, t.readValues(pair, e.Value)...)
	}
	return all
}

func (t Test) readValues(p Pair, n sheet.Node) []Reading {
	var all []Reading
	for _, item := range n.List() {
		text, ok := item.Text()
		if !ok {
			continue
		}
		r, err := t.parseValue(p, text)
		if err != nil {
			item.Fault(err.Error(), "")
			continue
		}
		all = append(all, r)
	}
	return all
}

// Sheet writes a worksheet to fill in.
func (t Test) Sheet() []byte {
	var b strings.Builder
	fmt.Fprintf(&b, "# Phase test: fill in what the tester shows, leave blank what wasn't read. A pair\n"+
		"# read twice is a list: [%s]. Before anything is touched:\n", t.twice())
	for _, c := range t.Cautions() {
		b.WriteString(comment(c))
	}
	fmt.Fprintf(&b, "legwork-phasetest: %d\nservice: %s\n", fileVersion, t.Service.Name)
	if t.Service.Kind == wiring.HighLegDelta {
		b.WriteString("high-leg: " + t.highLetter() + "    # A, B or C; blank where it isn't known\n")
	}
	fmt.Fprintf(&b, "method: %s\nproved-before:    # true once the tester was proved before\nproved-after:     # true once it was proved again after\nreadings:\n", t.method())
	for _, p := range t.Plan() {
		fmt.Fprintf(&b, "  %-6s    # %s\n", PairName(t.Service, p)+":", t.hint(p))
	}
	return []byte(b.String())
}

// comment writes a line of the head, broken at about 80 columns.
func comment(text string) string {
	var b strings.Builder
	line := "#   -"
	for _, word := range strings.Fields(text) {
		if len(line)+1+len(word) > 80 {
			b.WriteString(line + "\n")
			line = "#    "
		}
		line += " " + word
	}
	return b.String() + line + "\n"
}

func (t Test) twice() string {
	if t.Dead {
		return "closed, closed"
	}
	return "0.2 V, 0.3 V"
}

func (t Test) highLetter() string {
	if t.Service.HighLeg == wiring.NoLeg {
		return ""
	}
	return LegName(t.Service, int(t.Service.HighLeg))
}

// hint is what a pair should read.
func (t Test) hint(p Pair) string {
	e := t.expected(p)
	switch {
	case e.Closed != nil && *e.Closed:
		return "closed: same leg; open: another"
	case e.Closed != nil:
		return "open: nothing joins the legs"
	case len(e.Nominal) == 2:
		return fmt.Sprintf("%v, the high leg %v: the tap is live", e.Nominal[0], e.Nominal[1])
	case len(e.Nominal) == 1:
		return fmt.Sprintf("%v: the tap is live", e.Nominal[0])
	}
	return fmt.Sprintf("%v: same leg; %v: another", *e.Same, *e.Another)
}
