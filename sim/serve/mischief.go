package serve

import (
	"encoding/binary"
	"fmt"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"
)

// Prank is one thing that goes wrong with an answer, at the level of bytes.
type Prank string

// The pranks.
const (
	Lost            Prank = "lost"             // no answer
	Late            Prank = "late"             // after Mischief.Late
	Cut             Prank = "cut"              // the end is missing
	Corrupted       Prank = "corrupted"        // one to eight bits turned over
	Doubled         Prank = "doubled"          // sent twice
	ForeignUnit     Prank = "foreign-unit"     // as from another unit
	ForeignFunction Prank = "foreign-function" // as to another function
	Noise           Prank = "noise"            // bytes of no frame before and after
	Echo            Prank = "echo"             // the request first (serial lines)
	Stuck           Prank = "stuck"            // no answer to this request and the next two
	SlowFirst       Prank = "slow-first"       // one byte, a pause, the rest
	Closed          Prank = "closed"           // the connection ends half-way
	WrongNumber     Prank = "wrong-number"     // another transaction's (Modbus TCP)
	Exception1      Prank = "exception-1"
	Exception2      Prank = "exception-2"
	Exception3      Prank = "exception-3"
	Exception4      Prank = "exception-4"
	Exception6      Prank = "exception-6"
	Exception11     Prank = "exception-11"
)

// Pranks lists them all.
func Pranks() []Prank {
	return []Prank{Lost, Late, Cut, Corrupted, Doubled, ForeignUnit, ForeignFunction, Noise, Echo, Stuck, SlowFirst,
		Closed, WrongNumber, Exception1, Exception2, Exception3, Exception4, Exception6, Exception11}
}

// Mischief spoils answers by rate and seed. A nil Mischief spoils none.
type Mischief struct {
	Rates map[Prank]float64 // share of answers; together at most 1
	Late  time.Duration     // how late a late answer is; from half of it
	Pause time.Duration     // of a slow first byte

	mu    sync.Mutex
	dice  *rand.Rand
	done  map[Prank]int
	stuck int // requests that stay unanswered yet
}

// NewMischief makes mischief of rates, the same for the same seed.
func NewMischief(rates map[Prank]float64, seed uint64) *Mischief {
	return &Mischief{Rates: rates, Late: 300 * time.Millisecond, Pause: 50 * time.Millisecond,
		dice: rand.New(rand.NewPCG(seed, 7)), done: map[Prank]int{}}
}

// ParseMischief reads "lost=0.05,noise=0.1"; "all=0.05" gives each prank that
// share.
func ParseMischief(text string, seed uint64) (*Mischief, error) {
	if text == "" {
		return nil, nil
	}
	rates, sum := map[Prank]float64{}, 0.
	for part := range strings.SplitSeq(text, ",") {
		name, value, _ := strings.Cut(strings.TrimSpace(part), "=")
		rate, err := strconv.ParseFloat(value, 64)
		if err != nil || !(rate >= 0 && rate <= 1) {
			return nil, fmt.Errorf("%q: write a prank and its share of the answers, such as lost=0.05", part)
		}
		names := []Prank{Prank(name)}
		if name == "all" {
			names = Pranks()
		} else if !slices.Contains(Pranks(), Prank(name)) {
			return nil, fmt.Errorf("%q is not a mischief; there are %s", name, join(Pranks()))
		}
		for _, p := range names {
			rates[p] = rate
			sum += rate
		}
	}
	if sum > 1 {
		return nil, fmt.Errorf("the shares add up to %.2f, and there is only one answer to spoil", sum)
	}
	return NewMischief(rates, seed), nil
}

func join(pranks []Prank) string {
	var names []string
	for _, p := range pranks {
		names = append(names, string(p))
	}
	return strings.Join(names, ", ")
}

// Done tells how often each prank was played.
func (m *Mischief) Done() map[Prank]int {
	m.mu.Lock()
	defer m.mu.Unlock()
	out := map[Prank]int{}
	for p, n := range m.done {
		out[p] = n
	}
	return out
}

// draw picks the prank for one answer, empty for none.
func (m *Mischief) draw() Prank {
	x := m.dice.Float64()
	for _, p := range Pranks() {
		if x < m.Rates[p] {
			m.done[p]++
			return p
		}
		x -= m.Rates[p]
	}
	return ""
}

// act is bytes to send after a wait; nil bytes close the connection.
type act struct {
	wait  time.Duration
	bytes []byte
}

// framing is how a frame is made of a unit and a PDU, and taken apart.
type framing struct {
	pack  func(unit byte, pdu []byte) []byte
	plain bool // a serial line: noise and echo can be

	// unchecked is how many bytes corruption is kept to. Modbus TCP has no check
	// of its own: what spoils its values is for TCP's checksum to find, and here
	// only the header and the lengths are spoilt, as by a gateway at fault.
	unchecked int
}

// rtu gives what is sent for an answer on a serial line.
func (m *Mischief) rtu(answer, request []byte) []act {
	f := framing{plain: true, pack: func(unit byte, pdu []byte) []byte { return withCheck(append([]byte{unit}, pdu...)) }}
	return m.spoil(f, answer, request, answer[0], answer[1:len(answer)-2])
}

// tcp gives what is sent for an answer over Modbus TCP.
func (m *Mischief) tcp(answer []byte) []act {
	f := framing{unchecked: 9, pack: func(unit byte, pdu []byte) []byte {
		frame := append([]byte{}, answer[:7]...)
		binary.BigEndian.PutUint16(frame[4:], uint16(1+len(pdu)))
		frame[6] = unit
		return append(frame, pdu...)
	}}
	return m.spoil(f, answer, nil, answer[6], answer[7:])
}

func (m *Mischief) spoil(f framing, answer, request []byte, unit byte, pdu []byte) []act {
	if m == nil {
		return []act{{bytes: answer}}
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.stuck > 0 {
		m.stuck--
		return nil
	}
	function := pdu[0]
	switch p := m.draw(); p {
	case Lost:
		return nil
	case Late:
		return []act{{m.Late/2 + time.Duration(m.dice.Int64N(int64(m.Late/2)+1)), answer}}
	case Cut:
		return []act{{bytes: answer[:1+m.dice.IntN(len(answer)-1)]}}
	case Corrupted:
		return []act{{bytes: m.corrupted(answer, f.unchecked)}}
	case Doubled:
		return []act{{bytes: append(append([]byte{}, answer...), answer...)}}
	case ForeignUnit:
		return []act{{bytes: f.pack(unit%247+1, pdu)}}
	case ForeignFunction:
		return []act{{bytes: f.pack(unit, append([]byte{function ^ 0x07}, pdu[1:]...))}}
	case Noise:
		if f.plain {
			return []act{{bytes: append(append(m.noise(), answer...), m.noise()...)}}
		}
	case Echo:
		if f.plain {
			return []act{{bytes: append(append([]byte{}, request...), answer...)}}
		}
	case Stuck:
		m.stuck = 2
		return nil
	case SlowFirst:
		return []act{{bytes: answer[:1]}, {m.Pause, answer[1:]}}
	case Closed:
		return []act{{bytes: answer[:len(answer)/2]}, {}}
	case WrongNumber:
		if !f.plain {
			answer[0] ^= 0x80 // far from any that is open
		}
	case Exception1, Exception2, Exception3, Exception4, Exception6, Exception11:
		code, _ := strconv.Atoi(strings.TrimPrefix(string(p), "exception-"))
		return []act{{bytes: f.pack(unit, []byte{function | 0x80, byte(code)})}}
	}
	return []act{{bytes: answer}}
}

// corrupted turns one to eight bits over, in the first unchecked bytes where
// that is above zero.
func (m *Mischief) corrupted(answer []byte, unchecked int) []byte {
	out := append([]byte{}, answer...)
	within := len(out)
	if unchecked > 0 {
		within = min(unchecked, within)
	}
	for range 1 + m.dice.IntN(8) {
		out[m.dice.IntN(within)] ^= 1 << m.dice.IntN(8)
	}
	return out
}

// noise is what a line without bias shows: mostly 0x00 and 0xFF.
func (m *Mischief) noise() []byte {
	out := make([]byte, 1+m.dice.IntN(4))
	for i := range out {
		out[i] = []byte{0x00, 0xFF, byte(m.dice.IntN(256))}[m.dice.IntN(3)]
	}
	return out
}
