package watch

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	tea "charm.land/bubbletea/v2"
	"github.com/charmbracelet/x/ansi"
	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/screen"
	"legwork/diagnose"
	"legwork/probe/link"
	"legwork/probe/reading"
	"legwork/sim"
)

// tables are made once for all the tests here.
var tables = diagnose.NewTables()

var update = flag.Bool("update", false, "write the golden files anew")

var morning = time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)

// bench is a model whose time is in the test's hands, before a place of the simulator.
type bench struct {
	t     testing.TB
	m     *Model
	place *sim.Place
	at    time.Time
}

func newBench(t testing.TB, place, fault string, style screen.Style) *bench {
	p, err := sim.Open(place, sim.Options{Fault: fault, Start: morning})
	require.NoError(t, err)
	b := &bench{t: t, place: p, at: morning}
	s := NewSession(Options{
		Meter: "sim:" + place, Diagnose: diagnose.Options{Service: p.Service(), Tables: tables}, Now: func() time.Time { return b.at },
		Counts: func() link.Counts {
			return link.Counts{Requests: 41, Retries: 2, LateAnswers: 1, Slowest: 230 * time.Millisecond}
		},
	})
	feed := Feed{Interval: time.Second, Next: func(context.Context) (reading.Reading, error) { return b.place.At(b.at), nil }}
	b.m = NewModel(context.Background(), s, feed, style)
	return b
}

func (b *bench) read(seconds int) {
	for range seconds {
		b.m.Update(tookMsg{r: b.place.At(b.at), asked: b.at})
		b.at = b.at.Add(time.Second)
	}
}

func (b *bench) size(wide, high int) { b.m.Update(tea.WindowSizeMsg{Width: wide, Height: high}) }

func (b *bench) press(keys ...string) {
	special := map[string]rune{"enter": tea.KeyEnter, "esc": tea.KeyEscape, "tab": tea.KeyTab, "backspace": tea.KeyBackspace, "down": tea.KeyDown}
	for _, k := range keys {
		if code, ok := special[k]; ok {
			b.m.Update(tea.KeyPressMsg{Code: code})
			continue
		}
		for _, r := range k {
			b.m.Update(tea.KeyPressMsg{Code: r, Text: string(r)})
		}
	}
}

func (b *bench) screen() string { return b.m.View().Content }

// situations are what a technician may have before them.
func situations() map[string]func(*bench) {
	return map[string]func(*bench){
		"waiting": func(*bench) {},
		"watched": func(b *bench) { b.read(100) },
		"lost": func(b *bench) {
			b.read(20)
			b.m.Update(tookMsg{err: errors.New("tcp 10.0.0.7:502: no answer within 1s (2 tries); look at the meter's supply"), asked: b.at})
			b.at = b.at.Add(125 * time.Second)
			b.m.Update(wakeMsg{})
		},
		"leg?":    func(b *bench) { b.read(20); b.press("s") },
		"guided":  func(b *bench) { b.read(20); b.press("s", "1"); b.read(7) },
		"typing":  func(b *bench) { b.read(20); b.press("t", "leg 2 went up", "enter") },
		"help":    func(b *bench) { b.read(20); b.press("?") },
		"moves":   func(b *bench) { b.read(20); b.press("m", "down", "down") },
		"paused":  func(b *bench) { b.read(20); b.press("p") },
		"no step": func(b *bench) { b.read(20); _ = b.place.SetFault("ct2-open"); b.read(5); b.press("s") },
	}
}

var sizes = map[string][2]int{"80x24": {80, 24}, "200x60": {200, 60}, "40x12": {40, 12}}

func TestScreens(t *testing.T) {
	if testing.Short() {
		t.Skip("long, and of one goroutine")
	}
	for what, make := range situations() {
		for size, of := range sizes {
			if size == "200x60" && what != "watched" && what != "guided" && what != "no step" {
				continue
			}
			name := strings.Trim(strings.ReplaceAll(what, " ", "-"), "?") + "-" + size
			t.Run(name, func(t *testing.T) {
				b := newBench(t, "kiln-house", "ct2-reversed", screen.Style{})
				b.size(of[0], of[1])
				make(b)
				golden(t, name, b.screen())
			})
		}
	}
	for name, c := range map[string][2]string{
		"agrees": {"kiln-house", ""}, "open": {"kiln-house", "ct2-open"}, "twins": {"cottage-bakery", "cts-reversed"}, "ascii": {"dye-works", "ct1-reversed"},
		"dead": {"kiln-house", "v3-dead"},
	} {
		for size, of := range sizes {
			t.Run(name+"-"+size, func(t *testing.T) {
				b := newBench(t, c[0], c[1], screen.Style{ASCII: name == "ascii"})
				b.size(of[0], of[1])
				b.read(30)
				golden(t, name+"-"+size, b.screen())
			})
		}
	}
}

func golden(t *testing.T, name, got string) {
	file := "testdata/" + name + ".txt"
	if *update {
		require.NoError(t, os.MkdirAll("testdata", 0o755))
		require.NoError(t, os.WriteFile(file, []byte(got+"\n"), 0o644))
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err)
	require.Equal(t, string(want), got+"\n")
}

// Whatever the size and whatever is open, nothing leaves the window, and ASCII
// is ASCII.
func TestEverySizeFits(t *testing.T) {
	if testing.Short() {
		t.Skip("drawings of one goroutine: nothing to race")
	}
	for what, make := range situations() {
		for _, ascii := range []bool{false, true} {
			b := newBench(t, "kiln-house", "ct2-reversed", screen.Style{ASCII: ascii})
			make(b)
			for wide := 0; wide < 130; wide += 1 + wide/12 {
				for high := 0; high < 45; high += 1 + high/8 {
					b.size(wide, high)
					requireFits(t, b.screen(), wide, high, ascii, what)
				}
			}
		}
	}
}

func requireFits(t *testing.T, text string, wide, high int, ascii bool, what string) {
	t.Helper()
	lines := strings.Split(text, "\n")
	require.LessOrEqual(t, len(lines), max(1, high), "%s at %dx%d", what, wide, high)
	for _, l := range lines {
		require.LessOrEqual(t, ansi.StringWidth(l), wide, "%s at %dx%d: %q", what, wide, high, l)
		if ascii {
			require.Equal(t, len(l), len([]rune(l)), "%q has more than ASCII", l)
		}
	}
}

func TestTooSmallSaysSo(t *testing.T) {
	b := newBench(t, "kiln-house", "", screen.Style{})
	b.read(3)
	b.size(20, 4)
	require.Contains(t, strings.ReplaceAll(b.screen(), "\n", " "), "too small")
	require.Contains(t, b.screen(), "AGREES")
	b.size(10, 3)
	require.Contains(t, b.screen(), "too small")
}

// Without colour no escape sequence is sent; with it, the words are the same.
func TestColourSaysNothingByItself(t *testing.T) {
	if testing.Short() {
		t.Skip("long, and of one goroutine")
	}
	for what, make := range situations() {
		plain := newBench(t, "kiln-house", "ct2-reversed", screen.Style{})
		colour := newBench(t, "kiln-house", "ct2-reversed", screen.Style{Colour: true})
		for _, b := range []*bench{plain, colour} {
			b.size(80, 24)
			make(b)
		}
		require.NotContains(t, plain.screen(), "\x1b", what)
		if what != "waiting" && what != "help" {
			require.Contains(t, colour.screen(), "\x1b", what)
		}
		require.Equal(t, plain.screen(), ansi.Strip(colour.screen()), what)
	}
}

func TestScreenChangesAtMostTenTimesASecond(t *testing.T) {
	b := newBench(t, "kiln-house", "", screen.Style{})
	b.size(80, 24)
	drawn := 0
	for range 1000 { // a second of readings, one a millisecond
		before := b.m.drawn
		b.m.Update(tookMsg{r: b.place.At(b.at), asked: b.at})
		if b.m.drawn != before {
			drawn++
		}
		b.at = b.at.Add(time.Millisecond)
	}
	require.InDelta(t, 10, drawn, 1)
	before := b.m.drawn
	b.at = b.at.Add(time.Minute)
	b.m.Update(wakeMsg{})
	b.m.Update(askMsg{})
	b.m.Update(wakeMsg{})
	require.NotEqual(t, before, b.m.drawn, "nothing changed after what was due")
}

func TestKeysDoWhatTheScreenSays(t *testing.T) {
	b := newBench(t, "kiln-house", "ct2-reversed", screen.Style{})
	b.size(80, 24)
	b.read(5)
	b.press("p")
	require.Contains(t, b.screen(), "PAUSED since 09:30:05")
	_, cmd := b.m.Update(askMsg{})
	require.Nil(t, cmd, "a meter isn't asked during a pause")
	b.at = b.at.Add(90 * time.Second)
	b.press("p")
	require.NotContains(t, b.screen(), "PAUSED")
	require.Contains(t, b.screen(), "Resumed after 1 min 30 s")

	b.press("t", "leg 2 on: chanel 2 up", "enter")
	require.Contains(t, b.screen(), "is not understood; say one of")
	require.Contains(t, b.screen(), "test result: leg 2 on: chanel 2 up_")
	for range len("anel 2 up") {
		b.press("backspace")
	}
	b.press("annel 2 down", "enter")
	require.Contains(t, b.screen(), "Test result: leg 2 on: channel 2 down")
	require.Contains(t, b.screen(), ", 1 test")
	b.press("t", "tab", "tab")
	require.Contains(t, b.screen(), "leg 2 on: nothing_")
	b.press("esc", "n", "turned CT 2", "enter")
	require.Contains(t, b.screen(), "Moved: turned CT 2. Judged anew from")
	require.NotContains(t, b.screen(), ", 1 test")

	b.press("m")
	require.Contains(t, b.screen(), "lines 1 to 22 of")
	b.press("q")
	require.NotContains(t, b.screen(), "lines 1 to")
	_, cmd = b.m.Update(tea.KeyPressMsg{Code: 'q', Text: "q"})
	require.Equal(t, tea.QuitMsg{}, cmd())
	b.press("t")
	_, cmd = b.m.Update(tea.KeyPressMsg{Code: 'c', Mod: tea.ModCtrl})
	require.Equal(t, tea.QuitMsg{}, cmd(), "whatever is open")
}

// Ten drawings a second, each with a reading and a new verdict, against a core.
func BenchmarkTenthOfASecond(b *testing.B) {
	for _, of := range [][2]int{{80, 24}, {200, 60}} {
		b.Run(fmt.Sprintf("%dx%d", of[0], of[1]), func(b *testing.B) {
			w := newBench(b, "kiln-house", "ct2-reversed", screen.Style{Colour: true})
			w.size(of[0], of[1])
			w.read(300)
			r := w.place.At(w.at)
			b.ReportAllocs()
			for b.Loop() {
				w.at = w.at.Add(100 * time.Millisecond)
				r.At = w.at
				w.m.Update(tookMsg{r: r, asked: w.at})
				_ = w.m.View()
			}
			b.ReportMetric(100*b.Elapsed().Seconds()/float64(b.N)/0.1, "%core")
		})
	}
}
