package desk

import (
	"errors"
	"hash/fnv"
	"math"
	"sync"
	"sync/atomic"
	"time"

	"legwork/cmd/legwork/internal/round"
	"legwork/cmd/legwork/internal/sites"
	"legwork/cmd/legwork/internal/survey"
	"legwork/diagnose"
	"legwork/probe/link"
	"legwork/probe/reading"
)

// meter is what the desk knows of one meter. A reading and what follows from it
// are entered under one lock, and its metrics are one text: nothing is ever seen
// of two readings at once.
type meter struct {
	judges *judges
	name   string
	block  atomic.Pointer[block]
	shown  atomic.Pointer[survey.Meter]
	seq    atomic.Uint64 // of the last change that the page shows

	mu       sync.Mutex
	site     *sites.Site
	evidence *evidence
	silence  silence
	last     reading.Reading
	up       bool
	asked    bool
	failure  string
	since    time.Time // the status, or the failure, has lasted since then
	judged   time.Time
	verdict  verdict
	lost     energy
	reads    [outcomes]uint64
	balance  *survey.Balance
}

// verdict is what is kept of a Result, which is made anew for whoever asks.
type verdict struct {
	status      survey.Status
	summary     string
	probability float64
	loss        survey.Loss
}

// energy is what was lost so far, J: the bounds of its interval.
type energy struct{ low, high float64 }

// outcome is how a read ended.
type outcome uint8

// The outcomes.
const (
	good outcome = iota
	silent
	refused
	unreachable
	garbled
	outcomes
)

var outcomeNames = [outcomes]string{"good", "silent", "refused", "unreachable", "garbled"}

func outcomeOf(err error) outcome {
	switch {
	case err == nil:
		return good
	case errors.As(err, new(link.NoAnswer)):
		return silent
	case errors.As(err, new(link.Exception)):
		return refused
	case errors.As(err, new(link.BadAnswer)), errors.As(err, new(link.OtherUnit)):
		return garbled
	}
	return unreachable
}

func newMeter(s *sites.Site, all *judges) *meter {
	m := &meter{name: s.Name, judges: all}
	m.adopt(s)
	return m
}

// adopt takes a row of the sites file that may have changed. Evidence stays,
// unless it was gathered under other declarations or from another meter.
func (m *meter) adopt(s *sites.Site) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.site == nil || m.site.Meter != s.Meter || m.site.Service != s.Service || m.site.Map != s.Map ||
		m.site.Generation != s.Generation {
		m.evidence, m.silence, m.verdict = newEvidence(s.Options(m.judges.tables)), silence{}, verdict{}
		m.judged, m.balance = time.Time{}, nil
		m.up, m.last = false, reading.Reading{}
	}
	m.site = s
	m.write()
}

// note enters what came of asking. every is the interval; it reports whether it
// was judged anew.
func (m *meter) note(o *round.Outcome, every time.Duration, now time.Time) (judged bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.reads[outcomeOf(o.Err)]++
	if o.Err != nil {
		if m.up || !m.asked {
			m.since = now
		}
		m.up, m.asked, m.failure = false, true, o.Err.Error()
	} else {
		judged = m.take(&o.Reading, every)
	}
	m.write()
	return judged
}

// take enters a reading, and judges when that is due, or there is news.
func (m *meter) take(r *reading.Reading, every time.Duration) bool {
	if !m.up {
		m.since = r.At
	}
	m.lost.add(m.verdict.loss, m.last.At, r.At, every)
	m.up, m.asked, m.failure = true, true, ""
	m.last = *r
	m.evidence.add(r)
	news := m.silence.add(r)
	first, age := m.judged.IsZero(), r.At.Sub(m.judged)
	if !news && !first && age < judgeEvery || !m.judges.place(news || first || age >= overdue) {
		return false
	}
	defer m.judges.leave()
	m.judge(r.At)
	if first { // the next time comes sooner, so that not all are judged in the same moment of each minute
		m.judged = r.At.Add(-judgeEvery * time.Duration(phase(m.name)) / math.MaxUint16)
	}
	return true
}

// judge makes the verdict anew, and keeps of it what metrics and lists need.
func (m *meter) judge(at time.Time) diagnose.Result {
	r := m.evidence.result()
	m.site.CheckRating(&m.last, &r)
	before := m.verdict.status
	m.verdict = verdict{status: survey.Status(r.Verdict), summary: m.silence.tell(r.Summary),
		probability: r.Likeliest().Probability, loss: survey.LossOf(&r)}
	if m.judged = at; before != m.verdict.status {
		m.since = at
	}
	return r
}

// phase spreads names evenly over the numbers of 16 bits.
func phase(name string) uint16 {
	h := fnv.New32a()
	_, _ = h.Write([]byte(name))
	return uint16(h.Sum32() ^ h.Sum32()>>16)
}

// longGap is how many intervals may lie between two readings for what was lost
// between them to be counted.
const longGap = 3

// add counts what was lost between two readings.
func (e *energy) add(l survey.Loss, from, to time.Time, every time.Duration) {
	low, known := l.Low.Get()
	passed := to.Sub(from)
	if !known || from.IsZero() || passed <= 0 || passed > longGap*every {
		return
	}
	e.low += max(0, low) * passed.Seconds()
	e.high += max(0, l.High.Or(low)) * passed.Seconds()
}

// status is what the meter shows in one word.
func (m *meter) status() survey.Status {
	if !m.up {
		return survey.Unreadable
	}
	return m.verdict.status
}

// brief is the meter as a survey has it, without its verdict, as of the last
// write: whoever reads lists waits for no one.
func (m *meter) brief() survey.Meter { return *m.shown.Load() }

// whole is the meter with its verdict, made anew: what is kept follows it, so
// that no two places differ.
func (m *meter) whole() survey.Meter {
	m.mu.Lock()
	defer m.mu.Unlock()
	if !m.up {
		return m.sum()
	}
	r := m.judge(m.last.At)
	m.write()
	o := m.sum()
	o.Verdict = &r
	return o
}

// sum is the meter without its verdict. The caller holds the lock.
func (m *meter) sum() survey.Meter {
	o := survey.Meter{Name: m.name, Site: m.site.Place, Status: m.status()}
	if !m.up {
		text := m.failure
		if !m.asked {
			text = "not asked yet"
		}
		o.Summary, o.Error = text, &text
		return o
	}
	o.Summary, o.Power = m.verdict.summary, survey.PowerOf(&m.last)
	o.Lost, o.Low, o.High = m.verdict.loss.Best, m.verdict.loss.Low, m.verdict.loss.High
	o.Seen(m.last.At)
	return o
}
