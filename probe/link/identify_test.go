package link

import (
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/require"
)

// answers serves request after request with the PDUs given, then with silence.
func answers(pdus ...[]byte) func(*talker) {
	return func(k *talker) {
		for _, pdu := range pdus {
			request := k.next()
			if request == nil {
				return
			}
			k.say(withPDU(request, pdu...))
		}
		for k.next() != nil {
		}
	}
}

// identification is a PDU with the given head and objects.
func identification(head string, objects ...any) []byte {
	pdu := raw("2B 0E " + head)
	for i := 0; i < len(objects); i += 2 {
		text := objects[i+1].(string)
		pdu = append(append(pdu, byte(objects[i].(int)), byte(len(text))), text...)
	}
	return pdu
}

// The example of MODBUS Application Protocol V1.1b3, 6.21, rebuilt so that its
// lengths are those of its texts; its vendor's name is filled in to the length
// that is printed there, 0x16.
const (
	vendor  = "Company identification"
	product = "Product code XX"
	version = "V2.11"
)

func TestIdentify(t *testing.T) {
	tests := []struct {
		name     string
		serve    func(*talker)
		requests []string // PDUs
		want     Identity
	}{
		{"the standard's example", answers(identification("01 01 00 00 03", 0, vendor, 1, product, 2, version)),
			[]string{"2B 0E 01 00"},
			Identity{vendor, product, version, map[byte]string{0: vendor, 1: product, 2: version}}},
		{"the standard's example, continued", answers(
			identification("01 01 FF 02 03", 0, vendor, 1, product), // 3 objects said, 2 carried: as printed
			identification("01 01 00 00 01", 2, version)),
			[]string{"2B 0E 01 00", "2B 0E 01 02"},
			Identity{vendor, product, version, map[byte]string{0: vendor, 1: product, 2: version}}},
		{"a meter with regular objects too", answers(
			identification("01 82 00 00 03", 0, vendor, 1, product, 2, version),
			identification("02 82 00 00 02", 3, "kiln.example", 5, "three elements")),
			[]string{"2B 0E 01 00", "2B 0E 02 00"},
			Identity{vendor, product, version, map[byte]string{0: vendor, 1: product, 2: version, 3: "kiln.example", 5: "three elements"}}},
		{"regular objects promised and refused", answers(
			identification("01 02 00 00 01", 0, vendor), raw("AB 03")),
			[]string{"2B 0E 01 00", "2B 0E 02 00"},
			Identity{Vendor: vendor, Objects: map[byte]string{0: vendor}}},
		{"points back to where it began", answers(
			identification("01 01 FF 01 01", 0, vendor), identification("01 01 FF 00 01", 1, product)),
			[]string{"2B 0E 01 00", "2B 0E 01 01"},
			Identity{Vendor: vendor, Product: product, Objects: map[byte]string{0: vendor, 1: product}}},
		{"nothing to tell", answers(identification("01 01 00 00 00")),
			[]string{"2B 0E 01 00"}, Identity{Objects: map[byte]string{}}},
		{"padding and bytes that a terminal would obey", answers(identification("01 01 00 00 02", 0, "Kiln\x1b[2J\xff \x00\x00", 1, "  two")),
			[]string{"2B 0E 01 00"},
			Identity{Vendor: "Kiln?[2J?", Product: "  two", Objects: map[byte]string{0: "Kiln?[2J?", 1: "  two"}}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				m := newMeter(test.serve)
				c := m.link(t, Options{Timeout: short})
				got, err := c.Identify(t.Context(), 1)
				require.NoError(t, err)
				require.Equal(t, test.want, got)
				var asked []string
				for _, request := range m.requests() {
					asked = append(asked, hexOf(request[headerSize:]))
				}
				require.Equal(t, test.requests, asked)
				require.NoError(t, c.Close())
			})
		})
	}
}

func hexOf(b []byte) string {
	const digits = "0123456789ABCDEF"
	var s []byte
	for i, x := range b {
		if i > 0 {
			s = append(s, ' ')
		}
		s = append(s, digits[x>>4], digits[x&15])
	}
	return string(s)
}

// A meter that says more is to come, for ever, is asked a bounded number of times.
func TestIdentifyEnds(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		m := newMeter(func(k *talker) {
			for request := k.next(); request != nil; request = k.next() {
				object := request[headerSize+3]
				k.say(withPDU(request, 0x2B, 0x0E, 1, 1, 0xFF, object+1, 1, object, 1, 'x'))
			}
		})
		c := m.link(t, Options{Timeout: short})
		got, err := c.Identify(t.Context(), 1)
		require.NoError(t, err)
		require.Len(t, got.Objects, maxContinued)
		require.Len(t, m.requests(), maxContinued)
		require.NoError(t, c.Close())
	})
}

func TestIdentifyFails(t *testing.T) {
	const place = "tcp kiln-house:502: unit 1, identification: "
	tests := []struct {
		name  string
		serve func(*talker)
		want  string
	}{
		{"silence", answers(), "the meter does not tell what it is"},
		{"exception 1", answers(raw("AB 01")), "the meter does not tell what it is"},
		{"exception 3", answers(raw("AB 03")), "the meter does not tell what it is"},
		{"exception 11", answers(raw("AB 0B")), "exception 11 (gateway target device failed to respond); " +
			"the gateway works, the meter behind it is silent: check its power, its bus and the unit number"},
		{"an object beyond the end", answers(raw("2B 0E 01 01 00 00 01 00 09 4B")),
			"an object of the device identification is cut short; does this port speak Modbus TCP, and is it the meter's?"},
		{"an object without a length", answers(raw("2B 0E 01 01 00 00 01 00")),
			"an object of the device identification is cut short; does this port speak Modbus TCP, and is it the meter's?"},
		{"no head", answers(raw("2B 0E 01")),
			"the answer is not a device identification; does this port speak Modbus TCP, and is it the meter's?"},
		{"another encapsulated function", answers(raw("2B 0D 01 01 00 00 00")),
			"the answer is not a device identification; does this port speak Modbus TCP, and is it the meter's?"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				m := newMeter(test.serve, honest)
				c := m.link(t, Options{Timeout: short, Retries: 3})
				_, err := c.Identify(t.Context(), 1)
				require.EqualError(t, err, place+test.want)
				require.Len(t, m.requests(), 1, "asked once, whatever the retries")
				require.NoError(t, c.Close())
			})
		})
	}
}

// Silence on 43/14 is no reason to give the connection up.
func TestSilentIdentifyKeepsTheConnection(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		m := newMeter(func(k *talker) { k.next(); honest(k) })
		c := m.link(t, Options{Timeout: short})
		_, err := c.Identify(t.Context(), 1)
		require.ErrorIs(t, err, ErrNoIdentity)
		words, err := c.Registers(t.Context(), sixRegisters)
		require.NoError(t, err)
		require.Len(t, words, 6)
		require.EqualValues(t, 0, c.Counts().Redials)
		require.NoError(t, c.Close())
	})
}
