package link

import (
	"errors"
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/require"
)

// What a meter, a gateway or a stranger on the port may do with a request.
var hostile = []struct {
	name  string
	serve func(*talker)
	lax   bool
	want  string // of the error, after the place; empty where six registers must come
	is    error  // an error of this type or value is within
}{
	{"honest", honest, false, "", nil},
	{"silent", func(k *talker) { k.next(); k.next() }, false,
		"no answer within 200ms; is the unit number right and the meter powered? a slow gateway needs a longer timeout", NoAnswer{}},
	{"closes at once", func(*talker) {}, false,
		"the connection broke: io: read/write on closed pipe; does another client hold the meter's only connection?", lostError{}},
	{"closes instead of answering", func(k *talker) { k.next() }, false,
		"the other side closed the connection; does another client hold the meter's only connection?", lostError{}},
	{"closes half-way", once(func(r []byte) []byte { return right(r)[:11] }), false,
		"the other side closed the connection; does another client hold the meter's only connection?", lostError{}},
	{"stops half-way", thenHonest(func(r []byte) []byte { return right(r)[:11] }), false,
		"no whole answer within 200ms, only 11 bytes of one; is the unit number right and the meter powered? a slow gateway needs a longer timeout", NoAnswer{}},
	{"drips byte by byte", func(k *talker) {
		for _, b := range right(k.next()) {
			k.say([]byte{b})
		}
		honest(k)
	}, false, "", nil},
	{"an older answer comes first", thenHonest(func(r []byte) []byte {
		old := right(r)
		old[0], old[1], old[10] = 0xFF, 0xFE, 0x55
		return append(old, right(r)...)
	}), false, "", nil},
	{"answers twice", thenHonest(func(r []byte) []byte { return append(right(r), right(r)...) }), false, "", nil},
	{"only another transaction", thenHonest(changed(1, 0x77)), false,
		"no answer within 200ms, only 1 with a wrong transaction number; " +
			"the gateway numbers its answers wrongly: newer firmware, or rtu+tcp:// where it can pass RTU frames on", NoAnswer{}},
	{"another unit", thenHonest(changed(6, 9)), false,
		"unit 9 answered instead of unit 1; does the gateway mix up its meters?", OtherUnit{}},
	{"unit 255", thenHonest(changed(6, 255)), false,
		"unit 255 answered instead of unit 1; a meter without a gateway may want unit 255", OtherUnit{}},
	{"unit 255 tolerated", thenHonest(changed(6, 255)), true, "", nil},
	{"unit 0 tolerated", thenHonest(changed(6, 0)), true, "", nil},
	{"unit 9 is never tolerated", thenHonest(changed(6, 9)), true,
		"unit 9 answered instead of unit 1; does the gateway mix up its meters?", OtherUnit{}},
	{"protocol number 1", thenHonest(changed(3, 1)), false,
		"this is no Modbus TCP frame: its protocol number is 1, not 0; does this port speak Modbus TCP, and is it the meter's?", BadAnswer{}},
	{"a web server", once(func([]byte) []byte { return []byte("HTTP/1.1 400 Bad Request\r\n\r\n") }), false,
		"this is no Modbus TCP frame: its protocol number is 21584, not 0; does this port speak Modbus TCP, and is it the meter's?", BadAnswer{}},
	{"length 0", thenHonest(changed(5, 0)), false,
		"this is no Modbus TCP frame: its length is 0, not 2 to 254; does this port speak Modbus TCP, and is it the meter's?", BadAnswer{}},
	{"length 1", thenHonest(changed(5, 1)), false,
		"this is no Modbus TCP frame: its length is 1, not 2 to 254; does this port speak Modbus TCP, and is it the meter's?", BadAnswer{}},
	{"length 65295", thenHonest(changed(4, 0xFF)), false,
		"this is no Modbus TCP frame: its length is 65295, not 2 to 254; does this port speak Modbus TCP, and is it the meter's?", BadAnswer{}},
	{"a function and nothing else", thenHonest(func(r []byte) []byte { return withPDU(r, 3) }), false,
		"the answer carries 0 bytes where 6 registers were asked for; does this port speak Modbus TCP, and is it the meter's?", BadAnswer{}},
	{"one register where six were asked", thenHonest(func(r []byte) []byte { return withPDU(r, 3, 2, 0, 7) }), false,
		"the answer carries 2 bytes where 6 registers were asked for; does this port speak Modbus TCP, and is it the meter's?", BadAnswer{}},
	{"more registers than asked", thenHonest(func(r []byte) []byte { return withPDU(r, append([]byte{3, 14}, make([]byte, 14)...)...) }), false,
		"the answer carries 14 bytes where 6 registers were asked for; does this port speak Modbus TCP, and is it the meter's?", BadAnswer{}},
	{"a byte count that is not the length", thenHonest(changed(8, 10)), false,
		"the answer carries 12 bytes where 6 registers were asked for; does this port speak Modbus TCP, and is it the meter's?", BadAnswer{}},
	{"input registers where holding were asked", thenHonest(changed(7, 4)), false,
		"the answer is to function 4, not 3; does this port speak Modbus TCP, and is it the meter's?", BadAnswer{}},
	{"the exception of another function", thenHonest(func(r []byte) []byte { return withPDU(r, 0x84, 2) }), false,
		"the answer is to function 132, not 3; does this port speak Modbus TCP, and is it the meter's?", BadAnswer{}},
	{"an exception without a code", thenHonest(func(r []byte) []byte { return withPDU(r, 0x83) }), false,
		"the meter refused with 0 bytes where one code should stand; does this port speak Modbus TCP, and is it the meter's?", BadAnswer{}},
	{"exception 1", thenHonest(func(r []byte) []byte { return withPDU(r, 0x83, 1) }), false,
		"exception 1 (illegal function); the other table, holding or input, may be the right one", IllegalFunction},
	{"exception 2", thenHonest(func(r []byte) []byte { return withPDU(r, 0x83, 2) }), false,
		"exception 2 (illegal data address); check addresses and numbering of the register map", IllegalDataAddress},
	{"exception 4", thenHonest(func(r []byte) []byte { return withPDU(r, 0x83, 4) }), false,
		"exception 4 (server device failure)", ServerDeviceFailure},
	{"exception 11", thenHonest(func(r []byte) []byte { return withPDU(r, 0x83, 11) }), false,
		"exception 11 (gateway target device failed to respond); the gateway works, the meter behind it is silent: check its power, its bus and the unit number", GatewayTarget},
	{"exception 99", thenHonest(func(r []byte) []byte { return withPDU(r, 0x83, 99) }), false,
		"exception 99 (a code that the standard does not have)", Exception(99)},
}

// Whatever came, the error says what, and the next request is answered rightly.
func TestHostileMeter(t *testing.T) {
	for _, h := range hostile {
		t.Run(h.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				m := newMeter(h.serve, honest)
				c := m.link(t, Options{Timeout: short, LaxUnit: h.lax})

				words, err := c.Registers(t.Context(), sixRegisters)
				if h.want == "" {
					require.NoError(t, err)
					require.Equal(t, []uint16{0, 1, 2, 3, 4, 5}, words)
				} else {
					require.Nil(t, words)
					require.EqualError(t, err, "tcp kiln-house:502: unit 1, holding registers 0-5: "+h.want)
					requireWithin(t, err, h.is)
				}

				words, err = c.Registers(t.Context(), Read{Unit: 1, Function: ReadInput, Address: 200, Count: 2})
				require.NoError(t, err)
				require.Equal(t, []uint16{200, 201}, words)

				var refused Exception
				kept := h.want == "" || errors.As(h.is, &refused)
				require.Equal(t, !kept, c.Counts().Redials == 1, "only what is no exception costs the connection")
				require.NoError(t, c.Close())
			})
		})
	}
}

// requireWithin requires an error of the type of like within err, and its very
// value where it is an exception.
func requireWithin(t *testing.T, err, like error) {
	t.Helper()
	var link *Error
	require.ErrorAs(t, err, &link)
	switch like.(type) {
	case Exception:
		require.ErrorIs(t, err, like)
	case NoAnswer:
		require.ErrorAs(t, err, new(NoAnswer))
		require.True(t, link.Timeout())
	case lostError:
		require.ErrorAs(t, err, new(lostError))
	case OtherUnit:
		require.ErrorAs(t, err, new(OtherUnit))
	case BadAnswer:
		require.ErrorAs(t, err, new(BadAnswer))
		require.False(t, link.Timeout())
	}
}
