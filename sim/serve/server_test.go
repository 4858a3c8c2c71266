package serve

import (
	"bytes"
	"encoding/hex"
	"io"
	"net"
	"strings"
	"sync"
	"testing"
	"time"

	vetter "github.com/simonvetter/modbus"
	"github.com/stretchr/testify/require"

	"legwork/probe/regmap"
)

// standardsUnit holds the registers of the standard's worked examples (MODBUS
// Application Protocol V1.1b3, 6.3, 6.4): 108-110 counted from 1 are 555, 0, 100
// among the holding registers, and the ninth input register is 10.
func standardsUnit() *Unit {
	b := NewBank()
	b.Update(func(w Writer) {
		w.SetWords(regmap.Holding, 107, []uint16{555, 0, 100})
		w.SetWords(regmap.Input, 8, []uint16{10})
	})
	return &Unit{Bank: b, Identity: []string{"Tidewater", "Demo meter", "V2.11"}}
}

func unhex(s string) []byte {
	b, err := hex.DecodeString(strings.ReplaceAll(s, " ", ""))
	if err != nil {
		panic(err)
	}
	return b
}

func TestStandardsWorkedExamples(t *testing.T) {
	u := standardsUnit()
	for name, c := range map[string]struct{ ask, want string }{
		"6.3, three holding registers": {"03 00 6B 00 03", "03 06 02 2B 00 00 00 64"},
		"6.4, one input register":      {"04 00 08 00 01", "04 02 00 0A"},
		"7, an address that isn't":     {"03 04 A1 00 01", "83 02"},
		"7, beyond the range":          {"03 00 6B 00 04", "83 02"},
		"a quantity of none":           {"03 00 6B 00 00", "83 03"},
		"a quantity above 125":         {"03 00 6B 00 7E", "83 03"},
		"a write is no function":       {"06 00 6B 00 01", "86 01"},
		"several writes neither":       {"10 00 6B 00 01 02 00 00", "90 01"},
		"6.21, basic identification":   {"2B 0E 01 00", "2B 0E 01 81 00 00 03 00 09 54 69 64 65 77 61 74 65 72 01 0A 44 65 6D 6F 20 6D 65 74 65 72 02 05 56 32 2E 31 31"},
		"6.21, one object":             {"2B 0E 04 02", "2B 0E 04 81 00 00 01 02 05 56 32 2E 31 31"},
		"6.21, an object that isn't":   {"2B 0E 04 09", "AB 02"},
		"another encapsulated one":     {"2B 0D 00 00", "AB 01"},
	} {
		t.Run(name, func(t *testing.T) {
			require.Equal(t, unhex(c.want), u.answer(unhex(c.ask)))
		})
	}
}

func TestLongIdentificationComesInPieces(t *testing.T) {
	u := &Unit{Identity: []string{strings.Repeat("a", 200), strings.Repeat("b", 200)}}
	first := u.answer(unhex("2B 0E 01 00"))
	require.Equal(t, []byte{0xFF, 1, 1}, first[4:7], "more follows from object 1; one is here")
	second := u.answer(unhex("2B 0E 01 01"))
	require.Equal(t, []byte{0, 0, 1}, second[4:7])
}

func TestGapsReadAsZeroUnlessStrict(t *testing.T) {
	u := standardsUnit()
	u.Bank.Update(func(w Writer) { w.SetWords(regmap.Holding, 112, []uint16{7}) })
	require.Equal(t, unhex("03 0C 02 2B 00 00 00 64 00 00 00 00 00 07"), u.answer(unhex("03 00 6B 00 06")))
	u.Strict = true
	require.Equal(t, unhex("83 02"), u.answer(unhex("03 00 6B 00 06")))
}

func serveUnit(t testing.TB, u *Unit) (*Server, string) {
	s := New(map[byte]*Unit{1: u})
	a, err := s.ListenTCP("127.0.0.1:0")
	require.NoError(t, err)
	t.Cleanup(func() { _ = s.Close() })
	return s, a.String()
}

// A client that no one here wrote.
func TestForeignClientReads(t *testing.T) {
	s, address := serveUnit(t, standardsUnit())
	c, err := vetter.NewClient(&vetter.ClientConfiguration{URL: "tcp://" + address, Timeout: 2 * time.Second})
	require.NoError(t, err)
	require.NoError(t, c.Open())
	defer c.Close()
	words, err := c.ReadRegisters(107, 3, vetter.HOLDING_REGISTER)
	require.NoError(t, err)
	require.Equal(t, []uint16{555, 0, 100}, words)
	words, err = c.ReadRegisters(8, 1, vetter.INPUT_REGISTER)
	require.NoError(t, err)
	require.Equal(t, []uint16{10}, words)
	_, err = c.ReadRegister(1185, vetter.HOLDING_REGISTER)
	require.ErrorIs(t, err, vetter.ErrIllegalDataAddress)
	require.ErrorIs(t, c.WriteRegister(107, 1), vetter.ErrIllegalFunction)
	require.Equal(t, map[byte]int{3: 2, 4: 1, 6: 1}, s.Counts().Functions)
}

func TestTwoHundredConnections(t *testing.T) {
	s, address := serveUnit(t, standardsUnit())
	var all sync.WaitGroup
	for range 200 {
		all.Go(func() {
			conn, err := net.Dial("tcp", address)
			if err != nil {
				t.Error(err)
				return
			}
			defer conn.Close()
			for range 5 {
				_, _ = conn.Write(unhex("15 01 00 00 00 06 01 03 00 6B 00 03"))
				got := make([]byte, 15)
				if _, err := io.ReadFull(conn, got); err != nil || !bytes.Equal(got, unhex("15 01 00 00 00 09 01 03 06 02 2B 00 00 00 64")) {
					t.Errorf("%x %v", got, err)
				}
			}
		})
	}
	all.Wait()
	require.Equal(t, 1000, s.Counts().Functions[3])
}

func TestHostileClients(t *testing.T) {
	s, address := serveUnit(t, standardsUnit())
	for name, bytes := range map[string]string{
		"another protocol":   "00 01 00 07 00 06 01 03 00 6B 00 03",
		"a length of 1":      "00 01 00 00 00 01 01",
		"an absurd length":   "00 01 00 00 FF FF 01 03",
		"plain text":         "47 45 54 20 2F 20 48 54 54 50 2F 31 2E 31 0D 0A",
		"half a header":      "00 01 00",
		"nothing of the PDU": "00 01 00 00 00 06 01",
	} {
		t.Run(name, func(t *testing.T) {
			conn, err := net.Dial("tcp", address)
			require.NoError(t, err)
			_, err = conn.Write(unhex(bytes))
			require.NoError(t, err)
			require.NoError(t, conn.(*net.TCPConn).CloseWrite())
			got, _ := io.ReadAll(conn)
			require.Empty(t, got)
			_ = conn.Close()
		})
	}
	require.Empty(t, s.Counts().Functions)
}

func TestPipelinedRequestsAreAnsweredInOrder(t *testing.T) {
	_, address := serveUnit(t, standardsUnit())
	conn, err := net.Dial("tcp", address)
	require.NoError(t, err)
	defer conn.Close()
	_, err = conn.Write(append(unhex("00 01 00 00 00 06 01 04 00 08 00 01"), unhex("00 02 00 00 00 06 02 04 00 08 00 01 00 03 00 00 00 06 01 04 00 08 00 01")...))
	require.NoError(t, err)
	got := make([]byte, 22)
	_, err = io.ReadFull(conn, got)
	require.NoError(t, err)
	require.Equal(t, unhex("00 01 00 00 00 05 01 04 02 00 0A 00 03 00 00 00 05 01 04 02 00 0A"), got, "unit 2 isn't there and is silent")
}

func TestNobodySeesHalfAnUpdate(t *testing.T) {
	b := NewBank()
	u := &Unit{Bank: b}
	set := func(x uint16) { b.Update(func(w Writer) { w.SetWords(regmap.Holding, 0, []uint16{x, x, x, x}) }) }
	set(0)
	var writer sync.WaitGroup
	writer.Go(func() {
		for x := range uint16(2000) {
			set(x)
		}
	})
	for range 2000 {
		a := u.answer(unhex("03 00 00 00 04"))
		require.Equal(t, a[2:4], a[8:10])
	}
	writer.Wait()
}

func FuzzFrame(f *testing.F) {
	f.Add(unhex("15 01 00 00 00 06 FF 03 00 04 00 01"))
	f.Add(unhex("00 01 00 00 00 05 01 2B 0E 01 00"))
	f.Fuzz(func(t *testing.T, in []byte) {
		s := New(map[byte]*Unit{1: standardsUnit(), 255: standardsUnit()})
		r := bytes.NewReader(in)
		for {
			frame, err := readTCP(r)
			if err != nil {
				return
			}
			out := s.answerTCP(frame)
			if out == nil {
				continue
			}
			require.Equal(t, frame[:2], out[:2], "law 1: the transaction comes back")
			require.Equal(t, frame[7]&0x7F, out[7]&0x7F, "law 2: so does the function")
			require.LessOrEqual(t, len(out), 260, "law 3: no answer is too long")
		}
	})
}

func BenchmarkAnswer(b *testing.B) {
	u := standardsUnit()
	ask := unhex("03 00 6B 00 03")
	b.ReportAllocs()
	for b.Loop() {
		u.answer(ask)
	}
}
