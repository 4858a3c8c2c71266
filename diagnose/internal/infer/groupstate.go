package infer

import (
	"legwork/diagnose/internal/prior"
	"legwork/diagnose/wiring"
)

// Right reports whether a group holds the right arrangement with sound inputs.
func (g *Group) Right() bool {
	want := g.Service.Right()
	for k, judged := range g.Judged {
		if !judged {
			want[k] = wiring.CT{}
		}
	}
	for _, m := range g.Members {
		if prior.ArrangementOf(m.Number, g.Judged) == want {
			return !g.InputsMislanded()
		}
	}
	return false
}

// InputsMislanded reports a voltage input that is dead or on the wrong conductor.
func (g *Group) InputsMislanded() bool {
	for k := range g.Service.Channels() {
		switch g.State[k] {
		case wiring.InputDead, wiring.InputShared, wiring.InputNeutralCrossed:
			return true
		}
	}
	return false
}

// AllLive reports inputs every one of which reads its voltage.
func (g *Group) AllLive() bool {
	for k := range g.Service.Channels() {
		if g.State[k] != wiring.InputLive {
			return false
		}
	}
	return true
}

func (g *Group) AnySevere() bool { return g.Severe[0] || g.Severe[1] || g.Severe[2] }
func (g *Group) AnyJudged() bool { return g.Judged[0] || g.Judged[1] || g.Judged[2] }

func (g *Group) AllJudged() bool {
	for k := range g.Service.Channels() {
		if !g.Judged[k] {
			return false
		}
	}
	return true
}

// Sequence is the order of the inputs; ok is false where the readings don't tell
// it or the service has none.
func (g *Group) Sequence() (q wiring.Sequence, ok bool) {
	if len(g.Service.Sequences()) < 2 {
		return q, false
	}
	sum := g.by[0] + g.by[1]
	for i, q := range []wiring.Sequence{wiring.Forward, wiring.Backward} {
		if sum > 0 && g.by[i] >= sequenceShare*sum {
			return q, true
		}
	}
	return q, false
}

// OnNeutral reports a group whose likeliest arrangement has a CT on the neutral.
func (g *Group) OnNeutral() bool {
	for _, c := range g.Lead() {
		if c.Leg == wiring.OnNeutral {
			return true
		}
	}
	return false
}
