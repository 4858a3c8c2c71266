package phasetest

import (
	"fmt"
	"strings"

	"legwork/diagnose/wiring"
	"legwork/probe/sheet"
)

// fileVersion is the version of the worksheet's format.
const fileVersion = 1

// sheetFile is a worksheet as its file has it. Its tags are the table of the
// format (sheet.Rule).
type sheetFile struct {
	Version  sheet.Int         `sheet:"legwork-phasetest" from:"1" to:"1" doc:"Version of the format."`
	Service  sheet.Text        `sheet:"service" doc:"Service of the panel, such as 120/208Y."`
	HighLeg  sheet.Text        `sheet:"high-leg" doc:"Leg that stands high on a four-wire delta: A, B or C."`
	Method   string            `sheet:"method" of:"live dead" doc:"Volts on live conductors, or continuity on dead ones."`
	Before   bool              `sheet:"proved-before" doc:"Whether the tester was proved before."`
	After    bool              `sheet:"proved-after" doc:"Whether it was proved again after."`
	Readings sheet.Map[string] `sheet:"readings" doc:"What the tester showed, by pairs such as A-1."`
}

// ParseSheet reads a worksheet that a person filled in. The error is a
// *sheet.Faults: every fault of the file, with line and column. A value left
// blank is a reading not taken; a list of values is a pair read more than once.
func ParseSheet(file string, src []byte) (Test, []Reading, error) {
	s, root := sheet.Open(file, src)
	if err := s.Err(); err != nil {
		return Test{}, nil, err
	}
	var f sheetFile
	root.Lenient().Decode(&f)
	needed(root, f.Version.Node, "legwork-phasetest")
	needed(root, f.Service.Node, "service")
	t, ok := f.test()
	var all []Reading
	if ok {
		all = t.readSheet(f.Readings.Node)
	}
	return t, all, s.Err()
}

// needed reports a name that isn't there or is blank.
func needed(root, n sheet.Node, name string) {
	if n.Blank() {
		line, column := n.Position() // 1, 1 where it isn't there
		root.FaultAt(line, column, name+" is missing",
			"write `"+name+": ...`, or begin from a worksheet that was written with --worksheet")
	}
}

// test is what stands above the readings.
func (f *sheetFile) test() (t Test, ok bool) {
	if !f.Service.OK {
		return t, false
	}
	var err error
	if t.Service, err = wiring.ParseService(f.Service.Value); err != nil {
		f.Service.Refuse(err)
		return t, false
	}
	if f.HighLeg.OK {
		if t.Service.HighLeg, err = ParseHighLeg(t.Service, f.HighLeg.Value); err != nil {
			f.HighLeg.Refuse(err)
		}
	}
	t.Dead, t.Before, t.Proved = f.Method == "dead", f.Before, f.Before && f.After
	return t, true
}

func (t Test) readSheet(n sheet.Node) []Reading {
	var all []Reading
	seen := map[Pair]string{}
	for _, e := range n.Entries() {
		ends := pairShape.FindStringSubmatch(strings.TrimSpace(e.Name))
		if ends == nil {
			e.Value.AtKey().Fault(fmt.Sprintf("%q is no pair of points", e.Name),
				"write it such as "+PairName(t.Service, cross(1, 1)))
			continue
		}
		pair, err := t.parsePair(ends[1], ends[2])
		if err != nil {
			e.Value.AtKey().Fault(fmt.Sprintf("%q: %v", e.Name, err), "")
			continue
		}
		if first, twice := seen[pair]; twice {
			e.Value.AtKey().Fault(fmt.Sprintf("%q is the same pair as %q", e.Name, first),
				"write a pair that was read twice as a list, such as [0.2 V, 0.3 V]")
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
			item.Refuse(err)
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
	fmt.Fprintf(&b, "method: %s\nproved-before:    # true once the tester was proved before\n"+
		"proved-after:     # true once it was proved again after\nreadings:\n", t.method())
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
