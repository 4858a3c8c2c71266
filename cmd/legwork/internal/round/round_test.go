package round

import (
	"fmt"
	"io"
	"net"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/sites"
	"legwork/cmd/legwork/internal/source"
	"legwork/probe/link"
	"legwork/probe/regmap"
	"legwork/sim"
	"legwork/sim/serve"
)

// gateway serves the kiln house as some units, and gives a list of 1 to n.
func gateway(t *testing.T, units []byte, n int) (*serve.Server, *sites.List) {
	p, err := sim.Open("kiln-house", sim.Options{})
	require.NoError(t, err)
	file, src := p.Map()
	m, err := regmap.Parse(file, src)
	require.NoError(t, err)
	bank := serve.NewBank()
	r := p.At(time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC))
	bank.Update(func(w serve.Writer) { m.Encode(&r, w) })
	all := map[byte]*serve.Unit{}
	for _, u := range units {
		all[u] = &serve.Unit{Bank: bank}
	}
	s := serve.New(all)
	t.Cleanup(func() { _ = s.Close() })
	at, err := s.ListenTCP("127.0.0.1:0")
	require.NoError(t, err)
	return s, listOf(t, at.String(), n, m)
}

func listOf(t *testing.T, host string, n int, m *regmap.Map) *sites.List {
	l := &sites.List{Maps: map[string]*regmap.Map{"m": m}}
	for u := range n {
		a, err := source.Parse(fmt.Sprintf("tcp://%s/%d", host, u+1))
		require.NoError(t, err)
		l.Sites = append(l.Sites, &sites.Site{Name: fmt.Sprint("m", u+1), Meter: a, Map: "m", Wire: sites.WireOf(a),
			Service: "120/208Y"})
	}
	return l
}

// A gateway of one connection with a silent meter behind it is asked over one,
// for as long as there are rounds.
func TestOneConnectionWhateverIsSilent(t *testing.T) {
	s, l := gateway(t, []byte{1, 3, 4}, 4)
	s.OneClient()
	w := New(Options{Timeout: 30 * time.Millisecond, Maps: l.Maps})
	defer w.Close()
	for range 3 {
		w.Begin()
		for i, site := range l.Sites {
			r, err := w.Read(t.Context(), site)
			if i == 1 {
				require.ErrorAs(t, err, new(link.NoAnswer))
				require.Equal(t, 1, w.silent)
				continue
			}
			require.NoError(t, err)
			require.Equal(t, "120/208Y", r.Service)
			require.Zero(t, w.silent)
		}
	}
	require.False(t, w.Dead())
	require.Equal(t, 1, s.Counts().Connections)
	require.LessOrEqual(t, s.Counts().Silent, 2+1+1, "twice at first, for a shorter request; then once a round")
}

func TestDeadWire(t *testing.T) {
	s, l := gateway(t, nil, 6)
	w := New(Options{Timeout: 20 * time.Millisecond, Maps: l.Maps})
	defer w.Close()
	w.Begin()
	for i := 0; !w.Dead(); i++ {
		require.Less(t, i, mostSilent)
		_, err := w.Read(t.Context(), l.Sites[i])
		require.Error(t, err)
	}
	require.Equal(t, mostSilent+1, s.Counts().Silent, "only the first one's silence is looked into")
	w.Begin()
	_, _ = w.Read(t.Context(), l.Sites[0])
	require.Equal(t, 2, s.Counts().Connections, "after a silent round the connection is made anew")
}

// What refuses connections is tried once a round.
func TestRefusedConnection(t *testing.T) {
	closed, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	require.NoError(t, closed.Close())
	_, l := gateway(t, nil, 1)
	l = listOf(t, closed.Addr().String(), 3, l.Maps["m"])
	w := New(Options{Maps: l.Maps})
	defer w.Close()
	w.Begin()
	_, first := w.Read(t.Context(), l.Sites[0])
	require.ErrorAs(t, first, new(source.Unread))
	_, second := w.Read(t.Context(), l.Sites[1])
	require.ErrorIs(t, second, first)
	require.Zero(t, w.silent)
}

func TestCapturesAndPlaces(t *testing.T) {
	file := filepath.Join(t.TempDir(), "day.jsonl")
	require.NoError(t, os.WriteFile(file,
		[]byte(`{"at":"2026-05-04T09:30:00Z","channels":[{"voltage":120,"current":1}]}`+"\n"), 0o600))
	w := New(Options{})
	defer w.Close()
	for _, meter := range []string{file, "sim:kiln-house"} {
		a, err := source.Parse(meter)
		require.NoError(t, err)
		s := &sites.Site{Name: meter, Meter: a}
		_, err = w.Read(t.Context(), s)
		require.NoError(t, err)
		_, err = w.Read(t.Context(), s)
		if a.Kind == source.Capture {
			require.ErrorIs(t, err, io.EOF)
		}
	}
}
