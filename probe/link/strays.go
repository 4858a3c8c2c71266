package link

import "bytes"

// strays is what came beside the answer, told apart.
type strays struct {
	noise   int  // bytes of no frame
	framed  int  // bytes of frames
	zeros   int  // of them those that are 0x00
	ones    int  // of them those that are 0xFF
	echoes  int  // copies of the request
	foreign int  // whole frames of other units
	late    int  // whole frames of this unit that answer another request
	other   int  // whole frames of this unit with another function
	spoilt  int  // what begins as the answer but fails its check
	unit    byte // of the last foreign frame
}

// minRTU is the shortest frame: unit, function, check.
const minRTU = 4

// sortOut tells apart what came and isn't the answer to adu.
func sortOut(got, adu []byte, w awaited) strays {
	var s strays
	for len(got) > 0 {
		n := wholeSize(got)
		if len(adu) > 0 && bytes.HasPrefix(got, adu) {
			n = len(adu)
		}
		if n == 0 {
			s.byteOfNone(got, w)
			n = 1
		} else {
			s.frame(got[:n], adu, w)
		}
		got = got[n:]
	}
	return s
}

func (s *strays) byteOfNone(got []byte, w awaited) {
	s.noise++
	switch got[0] {
	case 0x00:
		s.zeros++
	case 0xFF:
		s.ones++
	}
	if size := w.size(got); size > 0 && size <= len(got) {
		s.spoilt++
	}
}

func (s *strays) frame(frame, adu []byte, w awaited) {
	s.framed += len(frame)
	switch {
	case len(adu) > 0 && bytes.Equal(frame, adu):
		s.echoes++
	case frame[0] != w.unit:
		s.foreign, s.unit = s.foreign+1, frame[0]
	case frame[1]&^exceptionFlag != w.function:
		s.other++
	default:
		s.late++
	}
}

// wholeSize is the length of a frame of any unit that begins at got[0]; 0 where
// none does. Units and functions that no frame has are passed over, so that a
// check which is right by chance is rare.
func wholeSize(got []byte) int {
	if len(got) < minRTU || got[0] > 247 || got[1]&^exceptionFlag == 0 || got[1]&^exceptionFlag > 0x2B {
		return 0
	}
	sizes := [...]int{exceptionSize, 8, 5 + int(got[2])}
	for _, n := range sizes[:] {
		if n <= len(got) && n <= maxRTU && isWhole(got[:n]) {
			return n
		}
	}
	if got[1] == encapsulated {
		return max(identitySize(got), 0)
	}
	return 0
}
