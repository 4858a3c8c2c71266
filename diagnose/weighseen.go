package diagnose

// seenError is how often a person's test is misread or mistyped. An assumption
// of ours, no source. A slip may be any of the other answers that the test has.
const seenError = 0.02

// likelihood is the probability of what was seen, slips included.
func (s *Seen) likelihood(h *hypothesis, amps *[3]float64) float64 {
	p := s.chance(h, amps)
	return (1-seenError)*p + seenError*(1-p)/float64(s.ways(h.frame.service)-1)
}

// weighSeen multiplies the posterior by what a person's tests say, and keeps
// what they say of every arrangement.
func (p *posterior) weighSeen(all []Seen) {
	if len(all) == 0 {
		return
	}
	var amps [3]float64
	for k := range amps {
		amps[k] = p.now[k].amps
	}
	p.told = make([][arrangements]float64, len(p.frames))
	var sum float64
	for f := range p.frames {
		judged := unpack(p.judgedUnder(&p.frames[f]))
		for a, w := range p.weights[f] {
			if w == 0 {
				continue
			}
			h := hypothesisOf(&p.frames[f], a, judged, w)
			p.told[f][a] = toldBy(all, &h, &amps)
			p.weights[f][a] *= p.told[f][a]
			sum += p.weights[f][a]
		}
	}
	p.scale(sum)
}

// unnamed is the probability that a person who tells which channel took a load
// leaves out another one that took it too. An assumption of ours, no source.
const unnamed = 0.1

// toldBy is the probability of all tests under a hypothesis.
func toldBy(all []Seen, h *hypothesis, amps *[3]float64) float64 {
	p := 1.0
	var named [3][3]bool // by leg and channel
	var stepped [3]bool
	for i := range all {
		s := &all[i]
		p *= s.likelihood(h, amps)
		if s.test == "load-step" && s.channel > 0 {
			stepped[s.leg-1], named[s.leg-1][s.channel-1] = true, true
		}
	}
	for m := range stepped {
		for k := range h.digit {
			if stepped[m] && !named[m][k] && h.takes(k, m) != 0 {
				p *= unnamed
			}
		}
	}
	return p
}

// made reports a test that a person has told of: it isn't asked for again.
func (j *judgement) made(t *trial) bool {
	for _, s := range j.options.Seen {
		if s.test == t.test && (t.leg == 0 || s.leg == t.leg) && (t.channel == 0 || s.channel == t.channel) && t.test != "voltage" {
			return true
		}
	}
	return false
}
