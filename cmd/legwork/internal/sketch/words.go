package sketch

import "fmt"

// Words is a picture in sentences, for those who don't see it.
func Words(p Picture) []string {
	var all []string
	for _, t := range p.Taps {
		all = append(all, tapWords(p, t))
	}
	for _, c := range p.CTs {
		all = append(all, ctWords(p, c))
	}
	for _, m := range p.Marks {
		switch {
		case m.At != m.With:
			all = append(all, fmt.Sprintf("%s and %s: %s.", p.name(m.Side, m.At), p.name(m.Side, m.With), m.Word))
		case m.Word == unjudged || m.Word == legend:
		case m.Side == Amps:
			all = append(all, fmt.Sprintf("%s: %s.", p.name(m.Side, m.At), m.Word))
		default:
			all = append(all, m.Word+".")
		}
	}
	return all
}

func (p *Picture) name(s Side, i int) string {
	if s == Volts {
		return p.Taps[i].Name
	}
	return p.CTs[i].Name
}

func tapWords(p Picture, t Tap) string {
	if t.Row == nowhere {
		return t.Name + " is on the conductor of another input."
	}
	return fmt.Sprintf("%s on %s.", t.Name, p.Rows[t.Row])
}

func ctWords(p Picture, c CT) string {
	if c.Row == nowhere {
		return c.Name + ": its CT was not judged."
	}
	way := "to the load"
	if c.ToSupply {
		way = "to the supply"
	}
	return fmt.Sprintf("%s: CT on %s, arrow %s.", c.Name, p.Rows[c.Row], way)
}
