package desk

import (
	"cmp"
	"strconv"
	"strings"

	"legwork/probe/reading"
)

// block is a meter's part of a scrape: the lines of each family, made when the
// meter is read, so that a scrape only copies.
type block struct {
	text []byte
	ends [familyCount]uint32
	site string
}

// of gives the lines of a family.
func (b *block) of(f int) []byte {
	if f == 0 {
		return b.text[:b.ends[0]]
	}
	return b.text[b.ends[f-1]:b.ends[f]]
}

// pen writes a block, family after family.
type pen struct {
	block
	family string // its name
	meter  string // its label, escaped, with the brace before it
	place  string // that of the site
}

// line writes one sample; labels come in pairs of name and escaped value.
func (p *pen) line(x float64, labels ...string) {
	p.sample(strconv.AppendFloat(nil, x, 'g', -1, 64), labels)
}

func (p *pen) sample(x []byte, labels []string) {
	p.text = append(append(p.text, p.family...), p.meter...)
	for i := 0; i < len(labels); i += 2 {
		p.text = append(append(append(append(append(p.text, ','), labels[i]...), `="`...), labels[i+1]...), '"')
	}
	p.text = append(append(append(p.text, "} "...), x...), '\n')
}

// value writes a sample that may be unknown: then there is none.
func (p *pen) value(v reading.Value, labels ...string) {
	if x, known := v.Get(); known {
		p.line(x, labels...)
	}
}

// escape makes a label's value of a text (Prometheus exposition format 0.0.4).
func escape(s string) string { return escapes.Replace(s) }

var escapes = strings.NewReplacer(`\`, `\\`, `"`, `\"`, "\n", `\n`)

// write makes what others see of the meter anew. The caller holds the lock.
func (m *meter) write() {
	p := &pen{meter: `{meter="` + escape(m.site.Name) + `"`, place: escape(m.site.Place)}
	p.site = m.site.Place
	if old := m.block.Load(); old != nil {
		p.text = make([]byte, 0, len(old.text)+64)
	}
	for i, f := range families {
		p.family = f.name
		f.write(p, m)
		p.ends[i] = uint32(len(p.text))
	}
	b := p.block
	m.block.Store(&b)
	o := m.sum()
	m.shown.Store(&o)
	m.seq.Add(1)
}

func one(yes bool) float64 {
	if yes {
		return 1
	}
	return 0
}

var factorSigns = map[reading.PowerFactorSign]string{reading.SignTellsNothing: "none", reading.SignTellsPower: "power",
	reading.SignTellsLagging: "lag"}

// info is what is declared.
func info(p *pen, m *meter) {
	factor, reactive := "none", "signed"
	for _, c := range m.last.Channels {
		if c.PowerFactor.Known() {
			factor = factorSigns[c.PowerFactorSign]
		}
		if c.ReactiveUnsigned {
			reactive = "none"
		}
	}
	p.line(1, "site", p.place, "under", escape(m.site.Under), "service", escape(cmp.Or(m.last.Service, m.site.Service)),
		"power_factor_sign", factor, "reactive_sign", reactive)
}
