package health

import (
	"fmt"
	"time"

	"legwork/probe/link"
)

// Trouble is one thing that can be wrong with a wire.
type Trouble string

// The troubles.
const (
	Nothing    Trouble = "nothing comes"
	Garbage    Trouble = "garbage"
	Noise      Trouble = "noise round good answers"
	Late       Trouble = "late answers"
	LongBlocks Trouble = "long blocks refused"
	TooFast    Trouble = "asked too fast"
	Echo       Trouble = "echo"
	Strangers  Trouble = "other frames on the line"
	Latency    Trouble = "the adapter holds bytes back"
	Gateway    Trouble = "the gateway has nobody there"
	OneClient  Trouble = "one connection only"
	Spoilt     Trouble = "spoilt answers"
	Broken     Trouble = "the connection breaks"
	Missing    Trouble = "answers missing"
	Refused    Trouble = "questions refused"
	Numbers    Trouble = "wrong transaction numbers"
)

// Finding is a trouble, what shows it, and what to do.
type Finding struct {
	Trouble Trouble `json:"trouble"`
	Seen    string  `json:"seen"`
	Check   string  `json:"check"`
}

// Evidence is what is known of a wire. What was not tried is zero.
type Evidence struct {
	Counts  link.Counts
	Short   link.Counts // of the short questions alone, which come first
	Timeout time.Duration
	Network bool // Modbus TCP, in TLS or not: no serial line at this end

	Close, Apart Tries // questions without a pause, and with one
	Longest      int   // registers of the longest block that was answered
	Refused      int   // of the shortest that was not, though it lies within the map
	Floors       []time.Duration
	Timer        int   // ms, the adapter's latency timer where the system tells
	Second       error // of a second connection; nil where it was answered or not tried
}

// Tries is how many questions were answered.
type Tries struct{ Good, Of int }

func (t Tries) share() float64 {
	if t.Of == 0 {
		return 0
	}
	return float64(t.Good) / float64(t.Of)
}

// Findings lists what the evidence shows, the gravest first; none is a wire in
// order.
func Findings(e Evidence) []Finding {
	var all []Finding
	for _, look := range []func(Evidence) (Finding, bool){nothing, echo, garbage, gateway, numbers, late, broken, tooFast,
		missing, refused, strangers, spoilt, noise, longBlocks, oneClient, latency} {
		if f, is := look(e); is {
			all = append(all, f)
		}
	}
	if c := e.Counts; len(all) == 0 && c.Requests > 0 && c.Answers+c.Exceptions == 0 {
		all = append(all, Finding{Missing, fmt.Sprintf("none of %d questions was answered", c.Requests), missingCheck})
	}
	return all
}

// missing is answers that never came, where slowness of the meter or too long a
// question doesn't explain it. One that came late after all is not missing.
func missing(e Evidence) (Finding, bool) {
	n := e.Short.Silent()
	_, fast := tooFast(e)
	f := Finding{Missing, fmt.Sprintf("%d of %d questions for one register were never answered", n, e.Short.Requests),
		missingCheck}
	// An answer so late that nobody waits for it looks the same.
	return f, n > 2*e.Counts.LateAnswers && e.Counts.Answers > 0 && !fast
}

const missingCheck = "loose terminals and the common conductor; termination at both ends and nowhere else; " +
	"the meter's supply; another program or master that asks at the same time"

// refused is questions that the meter itself refuses, those alone that any meter
// should answer.
func refused(e Evidence) (Finding, bool) {
	c := e.Short
	n, code := uint64(0), link.Exception(0)
	for i, times := range c.Refused {
		if i < int(link.GatewayPath) && times > n {
			n, code = times, link.Exception(i)
		}
	}
	f := Finding{Refused, fmt.Sprintf("%d of %d questions for one register were refused: %v", n, c.Requests, code),
		"the wire is good; the meter is busy or at fault: ask less often, and start it anew"}
	if code <= link.IllegalDataAddress {
		f.Check = "the wire is good; ask for registers that the meter has: --map FILE"
	}
	return f, n > 0
}

// numbers is a gateway that answers under the wrong numbers: waiting longer is no
// help.
func numbers(e Evidence) (Finding, bool) {
	c := e.Counts
	return Finding{Numbers, fmt.Sprintf("%d answers had the number of no question that was open", c.Misnumbered),
			"the gateway: newer firmware, or its mode that passes RTU frames on (rtu+tcp://HOST:PORT)"},
		c.Misnumbered > 0
}

func nothing(e Evidence) (Finding, bool) {
	c := e.Counts
	return Finding{Nothing, fmt.Sprintf("not one byte came to %d questions", c.Requests),
			"the meter's power; A and B exchanged; the common conductor; unit, speed and parity (legwork find tries them)"},
		c.Requests > 0 && c.BytesReceived == 0 && c.LateAnswers == 0
}

func echo(e Evidence) (Finding, bool) {
	c := e.Counts
	f := Finding{Echo, fmt.Sprintf("%d of %d questions came back before the answer", c.Echoes, c.Requests),
		"nothing needs mending: the echo is dropped; a two-wire adapter with its echo switched off is a little faster"}
	if c.Answers == 0 && c.BytesReceived > 0 {
		f.Check = "the adapter hears itself, and the meter is silent: its power, A and B, the unit, speed and parity"
	}
	return f, c.Echoes > 0
}

// garbage is bytes and no answer at all.
func garbage(e Evidence) (Finding, bool) {
	c := e.Counts
	f := Finding{Garbage, fmt.Sprintf("%d bytes came and no answer among them", c.BytesReceived),
		"speed and parity (legwork find tries them); A and B exchanged; two meters with one unit"}
	if e.Network {
		f.Check = "is this the meter's port, and does it speak Modbus TCP? RTU frames are rtu+tcp://; " +
			"a gateway may mix up its meters"
	} else if c.NoiseBytes > 0 && 3*c.ZeroBytes > c.NoiseBytes {
		f.Check = "parity first: many bytes read as 0, as those with a wrong parity do; then speed (legwork find tries both)"
	}
	return f, c.Answers+c.Exceptions+c.LateAnswers+c.Misnumbered == 0 && c.NoiseBytes+c.Spoilt() > 0
}

// spoilt is answers that are no use beside good ones: at the same settings that
// is a disturbed line, or two meters that answer at once. Those of other units
// are strangers.
func spoilt(e Evidence) (Finding, bool) {
	c := e.Counts
	f := Finding{Spoilt, fmt.Sprintf("%d spoilt answers beside %d good ones", c.Spoilt(), c.Answers),
		"termination at both ends and nowhere else; the pair away from mains; two meters with one unit"}
	if e.Network {
		f.Check = "the line behind the gateway: termination at both ends, the pair away from mains, " +
			"two meters with one unit"
	}
	return f, c.Answers > 0 && c.Spoilt() > c.ForeignFrames+c.Misnumbered
}

func noise(e Evidence) (Finding, bool) {
	c := e.Counts
	return Finding{Noise, fmt.Sprintf("%d of %d good answers had stray bytes round them", c.NoisyAnswers, c.Answers),
			"bias of the line (common practice: 680 ohm to each supply rail) and termination (120 ohm at both ends)"},
		c.NoisyAnswers > 0
}

func late(e Evidence) (Finding, bool) {
	c := e.Counts
	wait := (2 * c.Slowest).Round(10 * time.Millisecond)
	return Finding{Late, fmt.Sprintf("an answer took %s; the time-out is %s", c.Slowest.Round(time.Millisecond), e.Timeout),
		fmt.Sprintf("wait longer: --timeout %s", max(wait, 2*e.Timeout))}, c.LateAnswers > c.Misnumbered // wrong numbers hit earlier questions by chance
}

func strangers(e Evidence) (Finding, bool) {
	c := e.Counts
	f := Finding{Strangers, fmt.Sprintf("%d whole frames of other units came", c.ForeignFrames),
		"a second master on the line, or a gateway that mixes up its meters: only one may ask"}
	if c.ForeignFrames == 0 {
		f.Seen = fmt.Sprintf("%d answers came twice", c.Doubled)
		f.Check = "a converter that repeats, or two meters with one unit"
	}
	return f, c.ForeignFrames > 0 || c.Doubled > 0
}

// tooFast is a clear difference between questions close together and apart, where
// answers that come too late don't explain it.
func tooFast(e Evidence) (Finding, bool) {
	return Finding{TooFast, fmt.Sprintf("%d of %d questions close together were answered, and %d of %d with a pause between",
			e.Close.Good, e.Close.Of, e.Apart.Good, e.Apart.Of), "the meter needs a pause: read with --interval or --every, not faster"},
		e.Close.Of > 0 && e.Apart.Of > 0 && e.Apart.share() >= 0.8 && e.Close.share() < e.Apart.share()-0.3 &&
			e.Counts.LateAnswers <= e.Counts.Misnumbered
}

func longBlocks(e Evidence) (Finding, bool) {
	return Finding{LongBlocks, fmt.Sprintf("%s in one request were answered, %d not", registers(e.Longest), e.Refused),
		"the meter, or the gateway before it, takes no longer ones; the reading is split where it must be"}, e.Refused > 0 && e.Longest > 0
}

func registers(n int) string {
	if n == 1 {
		return "no more than 1 register"
	}
	return fmt.Sprintf("%d registers", n)
}

func gateway(e Evidence) (Finding, bool) {
	c := e.Counts
	path, target := c.Refused[link.GatewayPath], c.Refused[link.GatewayTarget]
	f := Finding{Gateway, fmt.Sprintf("the gateway answered %d times that the meter is silent (exception 11)", target),
		"the meter's power, its bus behind the gateway, its unit, speed and parity as the gateway has them; or it is asked too fast"}
	if target == 0 {
		f.Seen = fmt.Sprintf("the gateway answered %d times that it has no way there (exception 10)", path)
		f.Check = "the unit: is it one that the gateway serves?"
	}
	return f, path+target > 0
}

func oneClient(e Evidence) (Finding, bool) {
	if e.Second == nil {
		return Finding{}, false
	}
	return Finding{OneClient, fmt.Sprintf("a second connection was not served (%v)", e.Second),
		"the gateway takes one client: close other programs that poll it"}, true
}

func broken(e Evidence) (Finding, bool) {
	return Finding{Broken, fmt.Sprintf("the connection broke %d times", e.Counts.Broken),
		"the adapter's plug and cable, or another client that the gateway favours"}, e.Counts.Broken > 1
}

// The latency of an adapter shows as a floor of the time to the answer beyond
// what the wire takes, the same for short blocks and long: 16 ms is what common
// adapters have (pymodbus and jSerialComm issues; no standard).
const (
	lowFloor  = 12 * time.Millisecond
	highFloor = 20 * time.Millisecond
)

func latency(e Evidence) (Finding, bool) {
	if len(e.Floors) == 0 && e.Timer < 10 {
		return Finding{}, false
	}
	if e.Timer >= 10 {
		return Finding{Latency, fmt.Sprintf("the adapter's latency timer is %d ms", e.Timer),
			"set it to 1 ms (Linux: echo 1 into the port's latency_timer under /sys/bus/usb-serial/devices; Windows: the port's advanced settings)"}, true
	}
	for _, f := range e.Floors {
		if f < lowFloor || f > highFloor {
			return Finding{}, false
		}
	}
	return Finding{Latency, fmt.Sprintf("answers take %s beyond what the wire needs, whatever their length", e.Floors[0].Round(time.Millisecond)),
		"the adapter's latency timer (Windows: the port's advanced settings, 1 ms), or the meter's own turnaround"}, len(e.Floors) > 1
}
