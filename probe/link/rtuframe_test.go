package link

import (
	"encoding/binary"
	"testing"

	"github.com/goburrow/modbus"
	"github.com/stretchr/testify/require"
)

// framed adds the check that the standard's appendix describes, bit by bit, so
// that it shares nothing with the table that is tested against it (MODBUS over
// Serial Line V1.02, appendix B, p. 39).
func framed(frame []byte) []byte {
	return binary.LittleEndian.AppendUint16(append([]byte(nil), frame...), bitwise(frame))
}

func bitwise(frame []byte) uint16 {
	crc := uint16(0xFFFF)
	for _, b := range frame {
		crc ^= uint16(b)
		for range 8 {
			out := crc & 1
			crc >>= 1
			if out == 1 {
				crc ^= 0xA001
			}
		}
	}
	return crc
}

func TestStandardsChecks(t *testing.T) {
	tests := []struct{ name, frame, wire string }{
		{"SER appendix B, the worked example: register 0x1241", "02 07", "41 12"},
		{"PI-MBUS-300 fig. 7, the request; check computed", "06 03 00 6B 00 03", "75 A0"},
		{"PI-MBUS-300 fig. 8, the answer; check computed", "06 03 06 02 2B 00 00 00 63", "62 88"},
		{"APP 6.3, the request to unit 1; check computed", "01 03 00 6B 00 03", "74 17"},
		{"APP 6.3, the answer of unit 1; check computed", "01 03 06 02 2B 00 00 00 64", "05 7A"},
		{"APP 6.4, the request; check computed", "01 04 00 08 00 01", "B0 08"},
		{"APP 6.4, the answer; check computed", "01 04 02 00 0A", "39 37"},
		{"APP 7, a refusal; check computed", "01 83 02", "C0 F1"},
		{"APP 6.21, basic identification; check computed", "01 2B 0E 01 00", "70 77"},
		{"catalogue value of CRC-16/MODBUS for 123456789, from memory", "31 32 33 34 35 36 37 38 39", "37 4B"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			frame, wire := raw(test.frame), raw(test.wire)
			require.Equal(t, binary.LittleEndian.Uint16(wire), crc16(frame))
			require.Equal(t, crc16(frame), bitwise(frame))
			require.Equal(t, append(frame, wire...), framed(frame))
			if len(frame) > 1 {
				require.True(t, isWhole(append(frame, wire...)))
				require.False(t, isWhole(append(frame, wire[1], wire[0])), "the high byte first")
			}
		})
	}
}

// The standard's answers are found at any place among noise, by requests that
// wait for them and by no other.
func TestAnswersAreFound(t *testing.T) {
	identification := framed(append(raw("01 2B 0E 01 01 00 00 03 00 16"), "Company identification\x01\x0fProduct code XX\x02\x05V2.11"...))
	tests := []struct {
		name  string
		want  awaited
		frame []byte
	}{
		{"APP 6.3, three registers", awaited{1, 3, 6}, raw("01 03 06 02 2B 00 00 00 64 05 7A")},
		{"PI-MBUS-300 fig. 8", awaited{6, 3, 6}, raw("06 03 06 02 2B 00 00 00 63 62 88")},
		{"APP 6.4, one register", awaited{1, 4, 2}, raw("01 04 02 00 0A 39 37")},
		{"APP 7, a refusal", awaited{1, 3, 6}, raw("01 83 02 C0 F1")},
		{"APP 6.21, rebuilt with true lengths", awaited{1, encapsulated, 0}, identification},
		{"125 registers", awaited{1, 3, 250}, framed(append(raw("01 03 FA"), make([]byte, 250)...))},
	}
	noises := [][]byte{nil, {0}, {0xFF, 0xFF}, raw("01 03"), raw("01 03 06 02"), raw("06 03 06 01 2B"), raw("01 2B 0E 01 01 00 00 01 00 40")}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			for _, before := range noises {
				for _, after := range noises {
					got := append(append(append([]byte(nil), before...), test.frame...), after...)
					at, n := test.want.find(got, isWhole)
					require.Equal(t, [2]int{len(before), len(test.frame)}, [2]int{at, n}, "%X", got)
				}
			}
			for i := range test.frame {
				spoilt := append([]byte(nil), test.frame...)
				spoilt[i] ^= 0x10
				_, n := test.want.find(spoilt, isWhole)
				require.Zero(t, n, "byte %d", i)
				_, n = test.want.find(test.frame[:i], isWhole)
				require.Zero(t, n, "cut at %d", i)
			}
			for _, other := range []awaited{{9, 3, 6}, {test.want.unit, 0x11, 6}, {1, 4, 6}, {test.want.unit, test.want.function, 8}} {
				if at, n := other.find(test.frame, isWhole); n > 0 {
					require.EqualValues(t, exceptionSize, n, "only a refusal fits a request of another length: %d", at)
				}
			}
		})
	}
}

// What stands beside an answer is told apart.
func TestSortOut(t *testing.T) {
	want := awaited{1, 3, 6}
	request := raw("01 03 00 6B 00 03 74 17")
	answer := raw("01 03 06 02 2B 00 00 00 64 05 7A")
	tests := []struct {
		name     string
		got, adu []byte
		want     strays
	}{
		{"nothing", nil, request, strays{}},
		{"an echo", request, request, strays{echoes: 1, framed: 8}},
		{"noise of a line without bias", raw("00 FF 00 55"), request, strays{noise: 4, zeros: 2, ones: 1}},
		{"an answer of another unit", raw("06 03 06 02 2B 00 00 00 63 62 88"), request, strays{foreign: 1, unit: 6, framed: 11}},
		{"a request to another unit", raw("06 03 00 6B 00 03 75 A0"), request, strays{foreign: 1, unit: 6, framed: 8}},
		{"the answer once more", answer, request, strays{late: 1, framed: 11}},
		{"an answer to another function", raw("01 04 02 00 0A 39 37"), request, strays{other: 1, framed: 7}},
		{"the answer with a wrong check", raw("01 03 06 02 2B 00 00 00 64 05 7B"), request, strays{noise: 11, zeros: 3, spoilt: 1}},
		{"while nothing was asked", append(append([]byte{0}, answer...), raw("06 03 06 02 2B 00 00 00 63 62 88")...), nil,
			strays{noise: 1, zeros: 1, late: 1, foreign: 1, unit: 6, framed: 22}},
		{"echo, noise, answer", append(append(append([]byte(nil), request...), 0xFF), answer...), request,
			strays{echoes: 1, noise: 1, ones: 1, late: 1, framed: 19}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			require.Equal(t, test.want, sortOut(test.got, test.adu, want))
		})
	}
}

// FuzzRTUFrames holds the finder to these laws, for any noise and any answer:
//
//  1. it never panics, whatever comes and whatever is waited for;
//  2. what it gives is a frame of the unit and function that are waited for, no
//     longer than 256 bytes, whose check is right by the standard's own way;
//  3. it finds a good frame behind any noise, at its place or before it;
//  4. what it found in a head it finds in every longer one.
func FuzzRTUFrames(f *testing.F) {
	f.Add([]byte{0, 0xFF}, []byte{}, byte(1), uint16(3))
	f.Add(raw("01 03 06 02 2B"), raw("01 83 02 C0 F1"), byte(1), uint16(3))
	f.Add(raw("01 03 00 6B 00 03 74 17"), raw("00"), byte(6), uint16(125))
	f.Add(raw("01 2B 0E 01 01 00 00 01 00 FF"), raw("01 2B"), byte(247), uint16(0))
	f.Fuzz(func(t *testing.T, before, after []byte, unit byte, count uint16) {
		before, after = before[:min(len(before), 600)], after[:min(len(after), 300)]
		frame, want := goodFrame(unit, count)
		got := append(append(append([]byte(nil), before...), frame...), after...)
		at, n := want.find(got, isWhole)
		require.Positive(t, n, "law 3")
		require.LessOrEqual(t, at, len(before), "law 3")
		for end := at + n; end <= len(got); end++ {
			a, m := want.find(got[:end], isWhole)
			require.Equal(t, [2]int{at, n}, [2]int{a, m}, "law 4")
		}
		for _, w := range []awaited{want, {unit, 3, 2}, {unit, 4, 250}, {1, encapsulated, 0}, {unit, encapsulated, 0}} {
			for _, bytes := range [][]byte{got, before, after} {
				if at, n := w.find(bytes, isWhole); n > 0 {
					requireFrame(t, w, bytes[at:at+n])
				}
			}
		}
	})
}

// goodFrame is an answer and what waits for it: registers, or an identification
// where count is 0.
func goodFrame(unit byte, count uint16) ([]byte, awaited) {
	if count = count % (MaxRegisters + 1); count == 0 {
		return framed(append([]byte{unit, encapsulated, deviceID, 1, 1, 0, 0, 1, 0, 4}, "kiln"...)), awaited{unit: unit, function: encapsulated}
	}
	frame := []byte{unit, 3, byte(2 * count)}
	for i := range count {
		frame = binary.BigEndian.AppendUint16(frame, i*977)
	}
	return framed(frame), awaited{unit, 3, 2 * int(count)}
}

func requireFrame(t *testing.T, w awaited, frame []byte) {
	n := len(frame) - 2
	require.LessOrEqual(t, len(frame), maxRTU, "law 2")
	require.Equal(t, w.unit, frame[0], "law 2")
	require.Equal(t, w.function, frame[1]&^exceptionFlag, "law 2")
	require.Equal(t, bitwise(frame[:n]), binary.LittleEndian.Uint16(frame[n:]), "law 2")
}

// FuzzSortOut holds the sorter to these laws:
//
//  1. it never panics;
//  2. every byte is of a frame or noise;
//  3. so many frames are told as there are;
//  4. a copy of the request in front is an echo, and nothing else changes.
func FuzzSortOut(f *testing.F) {
	f.Add(raw("01 03 00 6B 00 03 74 17 00 01 03 06 02 2B 00 00 00 64 05 7A"), byte(1), true)
	f.Add(raw("06 03 06 02 2B 00 00 00 63 62 88 FF"), byte(1), false)
	f.Add(raw("01 2B 0E 01 01 00 00 01 00 FF"), byte(1), false)
	f.Fuzz(func(t *testing.T, got []byte, unit byte, asked bool) {
		want := awaited{unit, 3, 6}
		request := framed([]byte{unit, 3, 0, 0x6B, 0, 3})
		adu := request
		if !asked {
			adu = nil
		}
		s := sortOut(got, adu, want)
		require.Equal(t, len(got), s.noise+s.framed, "law 2")
		frames := s.echoes + s.foreign + s.late + s.other
		require.LessOrEqual(t, frames*minRTU, s.framed, "law 3")
		require.Equal(t, frames == 0, s.framed == 0, "law 3")
		require.LessOrEqual(t, s.zeros+s.ones, s.noise)
		if asked {
			more := sortOut(append(append([]byte(nil), request...), got...), adu, want)
			s.echoes, s.framed = s.echoes+1, s.framed+len(request)
			require.Equal(t, s, more, "law 4")
		}
	})
}

// The packager of the library checks as this package does.
func TestPackagerAgrees(t *testing.T) {
	pack := modbus.NewRTUClientHandler("")
	pack.SlaveId = 6
	adu, err := pack.Encode(pduOf(raw("03 00 6B 00 03")))
	require.NoError(t, err)
	require.Equal(t, raw("06 03 00 6B 00 03 75 A0"), adu)
}
