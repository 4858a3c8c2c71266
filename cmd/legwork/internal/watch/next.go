package watch

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"legwork/cmd/legwork/internal/screen"
	"legwork/diagnose"
	"legwork/diagnose/loadstep"
	"legwork/diagnose/wiring"
)

// The short forms of the cautions before moves; the long ones are
// with the moves, on the key m.
const (
	cautionsShort   = "Qualified people only; all locked out and proved dead. Never open a CT's secondary under load. All cautions: m"
	cautionsNarrow  = "Dead and proved first. Cautions: m"
	cautionsNarrows = 48 // columns, below which there is only room for the narrow one
)

func (m *Model) cautionsAlways() string {
	if m.wide < cautionsNarrows {
		return cautionsNarrow
	}
	return cautionsShort
}

// job is something to do now.
type job struct {
	head  string
	steps []string
}

// nextWords says the next things to do, cautions first. While a danger shows,
// nothing that calls for a load.
func (m *Model) nextWords() (cautions []string, jobs []job) {
	r := m.s.result
	cautions = append(cautions, m.s.urgent...)
	if !m.s.lost.IsZero() {
		return cautions, []job{{"No answer", []string{m.s.why}}}
	}
	if danger := screen.KeepAway(&r); len(danger) > 0 {
		return cautions, []job{{screen.KeepAwayHead, danger}}
	}
	if r.Verdict == diagnose.Agrees && len(cautions) == 0 {
		if r.Steps > 0 || len(m.s.findings) > 0 {
			return nil, []job{{"Nothing to move", []string{"Only a phase test can prove the leg names"}}}
		}
		return nil, []job{{"Nothing to move", []string{"A load step on each leg would confirm it: s"}}}
	}
	test := len(r.NextTests) > 0 && (r.Verdict != diagnose.Fault || r.NextTests[0].GainBits >= worthAsking)
	if test && testTouches(r.NextTests[0]) || r.Verdict == diagnose.Fault {
		cautions = append(cautions, m.cautionsAlways())
	}
	if test {
		jobs = append(jobs, job{m.testHead(), []string{r.NextTests[0].Ask}})
	}
	if moves := r.Advised(); len(moves) > 0 {
		jobs = append(jobs, job{"Move (all steps: m)", moves[0].Steps})
	}
	unloaded := func(c diagnose.ChannelJudged) bool { return c.State == diagnose.StateUnloaded }
	if len(jobs) == 0 && len(m.s.urgent) == 0 && slices.ContainsFunc(r.Channels, unloaded) {
		jobs = append(jobs, job{"More load", []string{fmt.Sprintf("Put more than %g A on every leg", m.s.minCurrent())}})
	}
	return cautions, jobs
}

// worthAsking is the least information of a test, in bits, to come before a move that is
// decided: one that a person has just made leaves their own error, 0.14 bit.
const worthAsking = 0.3

func (m *Model) testHead() string {
	if m.s.result.Verdict == diagnose.Fault {
		return "Test before you move"
	}
	return "Next test"
}

// testTouches reports a test that brings hands near live parts.
func testTouches(t diagnose.NextTest) bool { return t.Test != "load-step" && t.Test != "bank-off" }

// next is what to do now, in at most so many lines; a led load step goes first.
func (m *Model) next(wide, most int, now time.Time) []string {
	if most <= 0 || m.s.n == 0 {
		return nil
	}
	if l := m.s.led; l != nil {
		return m.clip(append(m.cautionLines(m.s.urgent, wide), m.ledLines(l, wide, now)...), most)
	}
	cautions, jobs := m.nextWords()
	lines := m.cautionLines(cautions, wide)
	for i, j := range jobs {
		room := most - len(lines) - 1
		if room < 1 || i > 0 && room < 2 {
			break
		}
		lines = append(lines, m.style.Bold(j.head))
		if i < len(jobs)-1 && room > 5 {
			room -= 3
		}
		lines = append(lines, m.stepLines(j.steps, wide, room)...)
	}
	return m.clip(lines, most)
}

func (m *Model) cautionLines(cautions []string, wide int) []string {
	var lines []string
	for _, c := range cautions {
		for _, l := range m.hung("! ", c, wide) {
			lines = append(lines, m.style.Warn(l))
		}
	}
	return lines
}

// hung wraps text after a mark, further lines under the first.
func (m *Model) hung(mark, text string, wide int) []string {
	lines := m.style.Wrap(text, max(1, wide-len(mark)))
	for i := range lines {
		lines[i] = mark + lines[i]
		mark = strings.Repeat(" ", len(mark))
	}
	return lines
}

// stepLines numbers steps. Where the room is short the first and the last, the
// same in every move, take a line, so that the ones that matter stay whole.
func (m *Model) stepLines(steps []string, wide, most int) []string {
	lines := make([][]string, len(steps))
	total := 0
	for i, s := range steps {
		mark := ""
		if len(steps) > 1 {
			mark = fmt.Sprintf("%d ", i+1)
		}
		lines[i] = m.hung(mark, s, wide)
		total += len(lines[i])
	}
	var all []string
	for i, l := range lines {
		if total > most && len(steps) > 2 && (i == 0 || i == len(steps)-1) {
			l = m.clip(l, 1)
		}
		all = append(all, m.clip(l, most-len(all))...)
	}
	return all
}

// ledLines lead a load step.
func (m *Model) ledLines(l *loadstep.Led, wide int, now time.Time) []string {
	lines := []string{m.style.Bold(fmt.Sprintf("Load step, leg %d", l.Leg))}
	add := func(text string, loud bool) {
		for _, l := range m.style.Wrap(text, wide) {
			if loud {
				l = m.style.Bold(l)
			}
			lines = append(lines, l)
		}
	}
	switch {
	case l.Outcome == loadstep.Asking:
		add(l.Question, true)
		add("y: yes, I switched it    n: no", false)
	case l.Outcome == loadstep.Waiting && !l.Ready():
		add("Wait: the load must stay for a few readings first", false)
	case l.Outcome == loadstep.Waiting:
		at := now
		if m.s.lost.IsZero() {
			at = m.s.last.At
		}
		add(l.Ask(), true)
		add(fmt.Sprintf("By its own switch or breaker, panel closed; %d s", int(l.Left(at).Seconds())), false)
		if l.Note != "" {
			add(l.Note, false)
		}
	default:
		add(l.Says, true)
		if l.Outcome == loadstep.NothingSeen {
			add("If the load did come on, enter it with t: "+l.Findings[0].String(), false)
		} else if len(l.Findings) > 0 {
			add("Noted: "+strings.Join(wiring.Sentences(l.Findings), "; "), false)
		}
	}
	return lines
}
