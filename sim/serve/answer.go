package serve

import (
	"encoding/binary"
	"sync/atomic"
	"time"

	"legwork/probe/regmap"
)

// Function codes and exceptions (MODBUS Application Protocol V1.1b3, 6 and 7).
const (
	readHolding    = 3
	readInput      = 4
	encapsulated   = 43
	identification = 14

	illegalFunction = 1
	illegalAddress  = 2
	illegalValue    = 3
)

// Unit is one meter behind the server.
type Unit struct {
	Bank   *Bank
	Strict bool   // registers that don't exist are refused wherever they stand
	Before func() // called before a request is answered, to bring Bank up to date; may be nil

	mute uint32 // it says nothing where others refuse; for atomic use

	MostRegisters int           // in one request; more are refused with exception 3. 0 is 125
	Pause         time.Duration // a request that comes sooner after the last one isn't heard
	asked         int64         // when the last one came, in ns since 1970; for atomic use

	// Identity is what function 43/14 tells: vendor, product, revision. Without
	// it the function is refused.
	Identity []string
}

// Hush has the unit say nothing where others refuse, from now on.
func (u *Unit) Hush() { atomic.StoreUint32(&u.mute, 1) }

// answer makes the PDU that answers a PDU, or nil for silence.
func (u *Unit) answer(pdu []byte) []byte {
	if u.Pause > 0 {
		now := time.Now().UnixNano()
		if now-atomic.SwapInt64(&u.asked, now) < int64(u.Pause) {
			return nil
		}
	}
	if u.Before != nil {
		u.Before()
	}
	switch pdu[0] {
	case readHolding, readInput:
		out := u.registers(pdu)
		if atomic.LoadUint32(&u.mute) != 0 && out[0] != pdu[0] {
			return nil
		}
		return out
	case encapsulated:
		if len(pdu) >= 4 && pdu[1] == identification && u.Identity != nil {
			return u.identify(pdu)
		}
	}
	return refuse(pdu[0], illegalFunction)
}

func refuse(function, code byte) []byte { return []byte{function | 0x80, code} }

func (u *Unit) registers(pdu []byte) []byte {
	if len(pdu) != 5 {
		return refuse(pdu[0], illegalValue)
	}
	address, n := int(binary.BigEndian.Uint16(pdu[1:])), int(binary.BigEndian.Uint16(pdu[3:]))
	most := 125
	if u.MostRegisters > 0 {
		most = u.MostRegisters
	}
	if n < 1 || n > most {
		return refuse(pdu[0], illegalValue)
	}
	words, ok := u.Bank.read(regmap.Table(pdu[0]-readHolding), address, n, u.Strict)
	if !ok {
		return refuse(pdu[0], illegalAddress)
	}
	out := []byte{pdu[0], byte(2 * n)}
	for _, w := range words {
		out = binary.BigEndian.AppendUint16(out, w)
	}
	return out
}

// identify answers 43/14 (6.21): basic identification from an object on, in
// pieces where it doesn't fit one PDU, or one object.
func (u *Unit) identify(pdu []byte) []byte {
	code, from := pdu[2], int(pdu[3])
	if code < 1 || code > 4 {
		return refuse(pdu[0], illegalValue)
	}
	if from >= len(u.Identity) {
		if code == 4 {
			return refuse(pdu[0], illegalAddress)
		}
		from = 0
	}
	const most = 253
	out := []byte{encapsulated, identification, code, 0x81, 0, 0, 0}
	for id := from; id < len(u.Identity); id++ {
		text := u.Identity[id]
		text = text[:min(len(text), most-9)]
		if len(out)+2+len(text) > most {
			out[4], out[5] = 0xFF, byte(id)
			break
		}
		out = append(append(out, byte(id), byte(len(text))), text...)
		out[6]++
		if code == 4 {
			break
		}
	}
	return out
}
