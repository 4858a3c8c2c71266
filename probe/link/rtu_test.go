package link

import (
	"context"
	"io"
	"net"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"
)

// slave is the far end of a serial line: it says what a script tells it to, in
// the time of a synctest bubble.
type slave struct {
	net.Conn
	mu   sync.Mutex
	seen [][]byte
}

// serialTo gives a link to a slave that a script plays.
func serialTo(t *testing.T, o Options, script func(*slave)) (*RTU, *slave) {
	ours, theirs := net.Pipe()
	s := &slave{Conn: theirs}
	go func() {
		defer theirs.Close()
		script(s)
	}()
	o.Dial = func(context.Context, string) (net.Conn, error) { return ours, nil }
	c, err := DialRTU(t.Context(), "kiln-house:4001", o)
	require.NoError(t, err)
	t.Cleanup(func() { _ = c.Close() })
	return c, s
}

// next reads one request; nil when the line has ended.
func (s *slave) next() []byte {
	request := make([]byte, 8)
	if _, err := io.ReadFull(s, request[:2]); err != nil {
		return nil
	}
	size := 8
	if request[1] == encapsulated {
		size = 7
	}
	if _, err := io.ReadFull(s, request[2:size]); err != nil {
		return nil
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.seen = append(s.seen, request[:size])
	return request[:size]
}

func (s *slave) requests() [][]byte {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([][]byte(nil), s.seen...)
}

// say writes parts, a little apart.
func (s *slave) say(parts ...[]byte) {
	for i, p := range parts {
		if i > 0 {
			time.Sleep(5 * time.Millisecond)
		}
		_, _ = s.Write(p)
	}
}

// rightly answers every request with the addresses of its registers.
func (s *slave) rightly() {
	for r := s.next(); r != nil; r = s.next() {
		s.say(rightRTU(r))
	}
}

func rightRTU(request []byte) []byte {
	from, count := uint16(request[2])<<8|uint16(request[3]), request[5]
	frame := []byte{request[0], request[1], 2 * count}
	for i := range uint16(count) {
		frame = append(frame, byte((from+i)>>8), byte(from+i))
	}
	return framed(frame)
}

var addresses = []uint16{0, 1, 2, 3, 4, 5}

// What a line may do with one answer, and what is read all the same.
func TestAnswersOnATroubledLine(t *testing.T) {
	tests := []struct {
		name   string
		answer func(s *slave, request []byte)
		err    string // after the place; empty where the registers must come
		counts Counts // of those named below
	}{
		{"in one piece", func(s *slave, r []byte) { s.say(rightRTU(r)) }, "", Counts{Answers: 1}},
		{"byte by byte", func(s *slave, r []byte) {
			for _, b := range rightRTU(r) {
				s.say([]byte{b})
				time.Sleep(time.Millisecond)
			}
		}, "", Counts{Answers: 1}},
		{"behind the echo in one piece", func(s *slave, r []byte) { s.say(append(append([]byte(nil), r...), rightRTU(r)...)) }, "", Counts{Answers: 1, Echoes: 1}},
		{"behind the echo, apart", func(s *slave, r []byte) { s.say(r, rightRTU(r)) }, "", Counts{Answers: 1, Echoes: 1}},
		{"behind half of the echo", func(s *slave, r []byte) {
			s.say(r[:3], append(append([]byte(nil), r[3:]...), rightRTU(r)[:4]...), rightRTU(r)[4:])
		},
			"", Counts{Answers: 1, Echoes: 1}},
		{"amid noise", func(s *slave, r []byte) { s.say([]byte{0, 0xFF, 1, 3}, append(rightRTU(r), 0)) }, "", Counts{Answers: 1, NoiseBytes: 5, ZeroBytes: 2, NoisyAnswers: 1}},
		{"behind a frame of another unit", func(s *slave, r []byte) { s.say(raw("06 03 06 02 2B 00 00 00 63 62 88"), rightRTU(r)) }, "", Counts{Answers: 1, ForeignFrames: 1}},
		{"a refusal in one piece", func(s *slave, r []byte) { s.say(raw("01 83 02 C0 F1")) },
			"exception 2 (illegal data address); check addresses and numbering of the register map", Counts{Exceptions: 1}},
		{"a refusal of 4 bytes and 1", func(s *slave, r []byte) { s.say(raw("01 83 02 C0"), raw("F1")) },
			"exception 2 (illegal data address); check addresses and numbering of the register map", Counts{Exceptions: 1}},
		{"a refusal of 1 byte and 4", func(s *slave, r []byte) { s.say(raw("01"), raw("83 02 C0 F1")) },
			"exception 2 (illegal data address); check addresses and numbering of the register map", Counts{Exceptions: 1}},
		{"silence", func(*slave, []byte) {}, "no answer within 200ms; check A and B, the common, the unit number and the meter's power; `legwork find` tries speeds and units",
			Counts{Timeouts: 1, Silences: 1}},
		{"only the echo", func(s *slave, r []byte) { s.say(r) },
			"no answer within 200ms, only the echo of the request; the adapter hears itself, the meter is silent: check A and B, the unit number and the speed", Counts{Timeouts: 1, Echoes: 1}},
		{"a wrong check", func(s *slave, r []byte) { a := rightRTU(r); a[5] ^= 1; s.say(a) },
			"the check (CRC) of the answer is wrong; check speed and parity, bias and termination; `legwork line` tells more", Counts{BadAnswers: 1, BadChecks: 1, NoiseBytes: 17, ZeroBytes: 6}},
		{"only noise", func(s *slave, r []byte) { s.say(raw("F0 F8 00 7C")) },
			"4 bytes came that are no answer; check speed and parity, bias and termination; `legwork line` tells more", Counts{BadAnswers: 1, NoiseBytes: 4, ZeroBytes: 1}},
		{"an answer cut short", func(s *slave, r []byte) { s.say(rightRTU(r)[:9]) },
			"no whole answer within 200ms, only 9 bytes of one; ", Counts{Timeouts: 1, Unusable: 1, NoiseBytes: 9, ZeroBytes: 4}},
		{"another unit only", func(s *slave, r []byte) { s.say(raw("06 03 06 02 2B 00 00 00 63 62 88")) },
			"unit 6 answered instead of unit 1; two masters on the line, or two meters with mixed units?", Counts{BadAnswers: 1, ForeignFrames: 1}},
		{"an answer to another length", func(s *slave, r []byte) { s.say(raw("01 03 06 02 2B 00 00 00 64 05 7A")) },
			"no answer within 200ms, only 1 to other requests; a longer timeout may be all it needs", Counts{Timeouts: 1, LateAnswers: 1}},
		{"an answer to another function", func(s *slave, r []byte) { s.say(raw("01 04 02 00 0A 39 37")) },
			"the answer is to another function; ", Counts{BadAnswers: 1}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				c, _ := serialTo(t, Options{Timeout: short}, func(s *slave) {
					if r := s.next(); r != nil {
						test.answer(s, r)
					}
					s.rightly()
				})
				words, err := c.Registers(t.Context(), sixRegisters)
				if test.err == "" {
					require.NoError(t, err)
					require.Equal(t, addresses, words)
				} else {
					require.ErrorContains(t, err, "rtu+tcp kiln-house:4001: unit 1, holding registers 0-5: "+test.err)
				}
				synctest.Wait()
				requireCounts(t, test.counts, c.Counts())

				words, err = c.Registers(t.Context(), Read{1, ReadHolding, 300, 2})
				require.NoError(t, err, "the next one is right")
				require.Equal(t, []uint16{300, 301}, words)
				require.NoError(t, c.Close())
			})
		})
	}
}

// requireCounts compares what does not depend on lengths and times.
func requireCounts(t *testing.T, want, got Counts) {
	t.Helper()
	got.Requests, got.BytesSent, got.BytesReceived, got.Slowest, got.Refused = 0, 0, 0, 0, want.Refused
	got.UnaskedBytes = 0
	require.Equal(t, want, got)
}

// The answer comes 25 ms after the time-out, twice; a third one is in time. Each
// has other values, so that taking one for another would show.
func TestLateAnswerIsDroppedAndTold(t *testing.T) {
	lateBy := func(s *slave, r []byte, value byte) {
		time.Sleep(225 * time.Millisecond)
		s.say(framed(append([]byte{1, 3, 12}, value, value, value, value, value, value, value, value, value, value, value, value)))
	}
	synctest.Test(t, func(t *testing.T) {
		c, s := serialTo(t, Options{Timeout: short, Retries: 1}, func(s *slave) {
			lateBy(s, s.next(), 0xA1)
			lateBy(s, s.next(), 0xA2)
			s.rightly()
		})
		_, err := c.Registers(t.Context(), sixRegisters)
		require.EqualError(t, err, "rtu+tcp kiln-house:4001: unit 1, holding registers 0-5: "+
			"no answer within 200ms: the meter answers after 225ms (2 tries); wait longer: --timeout 450ms")
		words, err := c.Registers(t.Context(), Read{1, ReadHolding, 100, 6})
		require.NoError(t, err)
		require.Equal(t, []uint16{100, 101, 102, 103, 104, 105}, words, "not those of an earlier request")
		got := c.Counts()
		require.EqualValues(t, 2, got.LateAnswers)
		require.EqualValues(t, 2, got.Timeouts)
		require.Equal(t, 225*time.Millisecond, got.Slowest)
		require.Len(t, s.requests(), 3)
		require.NoError(t, c.Close())
	})
}

// An answer that never comes costs the next request the late window and no more.
func TestLateWindowIsBounded(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c, _ := serialTo(t, Options{Timeout: short}, func(s *slave) { s.next(); s.rightly() })
		begun := time.Now()
		_, err := c.Registers(t.Context(), sixRegisters)
		require.ErrorAs(t, err, new(NoAnswer))
		require.Equal(t, short, time.Since(begun))
		_, err = c.Registers(t.Context(), sixRegisters)
		require.NoError(t, err)
		require.Equal(t, 2*short+short/8, time.Since(begun))
		require.NoError(t, c.Close())
	})
}

// What comes while nothing is asked is counted for what it is, and is nobody's
// answer.
func TestWhatComesUnasked(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c, _ := serialTo(t, Options{Timeout: short}, func(s *slave) {
			r := s.next()
			s.say(rightRTU(r))
			time.Sleep(time.Millisecond)
			s.say(rightRTU(r), raw("06 03 06 02 2B 00 00 00 63 62 88"), []byte{0, 0})
			s.rightly()
		})
		_, err := c.Registers(t.Context(), sixRegisters)
		require.NoError(t, err)
		time.Sleep(time.Second)
		words, err := c.Registers(t.Context(), Read{1, ReadHolding, 40, 6})
		require.NoError(t, err)
		require.Equal(t, []uint16{40, 41, 42, 43, 44, 45}, words)
		got := c.Counts()
		require.EqualValues(t, 17+11+2, got.UnaskedBytes)
		require.EqualValues(t, 1, got.Doubled)
		require.EqualValues(t, 1, got.ForeignFrames)
		require.EqualValues(t, 2, got.NoiseBytes)
		require.NoError(t, c.Close())
	})
}

// Two units on one bus are asked in turns, and neither has the other's answer.
func TestTwoUnitsOnOneBus(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c, _ := serialTo(t, Options{Timeout: short}, func(s *slave) {
			for r := s.next(); r != nil; r = s.next() {
				time.Sleep(time.Millisecond)
				a := rightRTU(r)
				a[3] = r[0] // the first register's high byte says whose it is
				s.say(framed(a[:len(a)-2]))
			}
		})
		var all sync.WaitGroup
		for _, unit := range []byte{1, 2} {
			all.Go(func() {
				for i := range uint16(50) {
					words, err := c.Registers(t.Context(), Read{unit, ReadHolding, i, 3})
					if err != nil || len(words) != 3 || words[0] != uint16(unit)<<8|i {
						t.Errorf("unit %d: %v, %v", unit, words, err)
					}
				}
			})
		}
		all.Wait()
		require.EqualValues(t, 100, c.Counts().Answers)
		require.NoError(t, c.Close())
	})
}

// The standard's identification over RTU (MODBUS Application Protocol V1.1b3,
// 6.21, rebuilt with true lengths), in one reply and continued, each in pieces.
func TestIdentifyOverRTU(t *testing.T) {
	whole := identification("01 01 00 00 03", 0, vendor, 1, product, 2, version)
	first := identification("01 01 FF 02 03", 0, vendor, 1, product) // 3 objects said, 2 carried: as printed
	second := identification("01 01 00 00 01", 2, version)
	want := Identity{vendor, product, version, map[byte]string{0: vendor, 1: product, 2: version}}
	tests := []struct {
		name    string
		replies [][]byte
		pieces  int
		asked   []string
	}{
		{"in one reply", [][]byte{whole}, 1, []string{"01 2B 0E 01 00 70 77"}},
		{"in many pieces", [][]byte{whole}, 9, []string{"01 2B 0E 01 00 70 77"}},
		{"continued", [][]byte{first, second}, 2, []string{"01 2B 0E 01 00 70 77", hexOf(framed(raw("01 2B 0E 01 02")))}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				c, s := serialTo(t, Options{Timeout: short}, func(s *slave) {
					for _, reply := range test.replies {
						if s.next() != nil {
							s.say(pieces(framed(append([]byte{1}, reply...)), test.pieces)...)
						}
					}
					s.rightly()
				})
				got, err := c.Identify(t.Context(), 1)
				require.NoError(t, err)
				require.Equal(t, want, got)
				var asked []string
				for _, r := range s.requests() {
					asked = append(asked, hexOf(r))
				}
				require.Equal(t, test.asked, asked)
				require.NoError(t, c.Close())
			})
		})
	}
}

func pieces(b []byte, n int) [][]byte {
	var all [][]byte
	for i := range n {
		all = append(all, b[i*len(b)/n:(i+1)*len(b)/n])
	}
	return all
}

// Silence on 43/14 is 'not supported'; the line is as good as before.
func TestSilentIdentifyOverRTU(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c, s := serialTo(t, Options{Timeout: short, Retries: 3}, func(s *slave) { s.next(); s.rightly() })
		_, err := c.Identify(t.Context(), 1)
		require.ErrorIs(t, err, ErrNoIdentity)
		_, err = c.Registers(t.Context(), sixRegisters)
		require.NoError(t, err)
		require.Len(t, s.requests(), 2, "asked once, whatever the retries")
		require.NoError(t, c.Close())
	})
}
