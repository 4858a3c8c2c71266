package watch

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"runtime"
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
		Meter: "sim:" + place, Diagnose: diagnose.Options{Service: p.Service()}, Now: func() time.Time { return b.at },
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
		"guided":  func(b *bench) { b.read(20); b.press("s", "1"); b.read(2) },
		"typing":  func(b *bench) { b.read(20); b.press("t", "leg 2 went up", "enter") },
		"help":    func(b *bench) { b.read(20); b.press("?") },
		"moves":   func(b *bench) { b.read(20); b.press("m", "down", "down") },
		"paused":  func(b *bench) { b.read(20); b.press("p") },
		"no step": func(b *bench) { b.read(20); _ = b.place.SetFault("ct2-open"); b.read(5); b.press("s") },
	}
}

var sizes = map[string][2]int{"80x24": {80, 24}, "200x60": {200, 60}, "40x12": {40, 12}}

func TestScreens(t *testing.T) {
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
	require.Equal(t, 1, btoi(b.m.drawn != before), "nothing changed after what was due")
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
	require.Contains(t, b.screen(), "Goes on after 1 min 30 s")

	b.press("t", "leg 2 on: chanel 2 up", "enter")
	require.Contains(t, b.screen(), "is not understood; say one of")
	require.Contains(t, b.screen(), "a test showed: leg 2 on: chanel 2 up_")
	for range len("anel 2 up") {
		b.press("backspace")
	}
	b.press("annel 2 down", "enter")
	require.Contains(t, b.screen(), "Told: leg 2 on: channel 2 down")
	require.Contains(t, b.screen(), "1 told")
	b.press("t", "tab", "tab")
	require.Contains(t, b.screen(), "leg 2 on: nothing_")
	b.press("esc", "n")
	require.Contains(t, b.screen(), "Judged anew from here")
	require.NotContains(t, b.screen(), "1 told")

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

func TestAMeterThatIsLostForMinutesIsTakenUpAgain(t *testing.T) {
	b := newBench(t, "kiln-house", "", screen.Style{})
	b.size(80, 24)
	b.read(10)
	for range 180 {
		_, cmd := b.m.Update(tookMsg{err: errors.New("no answer"), asked: b.at})
		require.NotNil(t, cmd, "it is asked again")
		b.at = b.at.Add(time.Second)
	}
	require.Contains(t, b.screen(), "NO ANSWER since 09:30:10, for 2 min 59 s")
	require.Contains(t, b.screen(), "AGREES", "what was known stays")
	b.read(3)
	require.NotContains(t, b.screen(), "NO ANSWER since")
	list, _ := b.m.s.Events(0)
	var texts []string
	for _, e := range list {
		texts = append(texts, e.Text)
	}
	require.Contains(t, texts, "The meter answers again, after 3 min 00 s")
	require.Equal(t, 1, strings.Count(strings.Join(texts, "\n"), "No answer"), "one loss is one event")
}

// A CT that is turned while someone watches ends the old verdict, whether the
// meter stayed up or not.
func TestWiringThatIsChangedIsJudgedAnew(t *testing.T) {
	for name, away := range map[string]bool{"meter stayed up": false, "meter was dead meanwhile": true} {
		t.Run(name, func(t *testing.T) {
			b := newBench(t, "kiln-house", "ct2-reversed", screen.Style{})
			b.read(120)
			require.Contains(t, b.m.s.Result().Summary, "CT 2 is reversed")
			require.NoError(t, b.place.SetFault(""))
			if away {
				b.m.Update(tookMsg{err: errors.New("no answer"), asked: b.at})
				b.at = b.at.Add(5 * time.Minute)
			}
			b.read(20)
			require.Equal(t, diagnose.Agrees, b.m.s.Result().Verdict, b.m.s.Result().Summary)
			require.NoError(t, b.place.SetFault("ct1-ct3-crossed"))
			b.read(20)
			require.Contains(t, b.m.s.Result().Summary, "CTs 1 and 3 are crossed")
		})
	}
}

// Loads that come and go are no change of the wiring.
func TestLoadsAreNoChangeOfWiring(t *testing.T) {
	for _, place := range sim.Names() {
		for _, fault := range []string{"", "ct1-reversed"} {
			b := newBench(t, place, fault, screen.Style{})
			for range 300 {
				b.m.s.Add(b.place.At(b.at))
				b.m.s.Judge()
				b.at = b.at.Add(time.Second)
			}
			list, _ := b.m.s.Events(0)
			for _, e := range list {
				require.NotContains(t, e.Text, "wiring was changed", "%s %s", place, fault)
			}
			if fault == "" {
				require.NotEqual(t, diagnose.Fault, b.m.s.Result().Verdict, place)
			} else {
				require.Equal(t, diagnose.Fault, b.m.s.Result().Verdict, place)
			}
		}
	}
}

// A CT that goes silent while it is watched may be open: the case, which keeps
// states of the load, doesn't say so by itself.
func TestACTThatGoesSilentIsWarnedOf(t *testing.T) {
	b := newBench(t, "kiln-house", "", screen.Style{})
	b.size(80, 24)
	b.read(10)
	require.NoError(t, b.place.SetFault("ct2-open"))
	b.read(3)
	require.Contains(t, b.screen(), "! CT 2 may be open")
	require.NotContains(t, b.screen(), "load step on each leg", "no load is to be switched on")
	b.press("s")
	require.Contains(t, b.screen(), "no load step now")
	require.Equal(t, noPane, b.m.pane)
}

// A lost neutral of the service goes before everything: stop, and no load step.
func TestALostNeutralStopsEverything(t *testing.T) {
	b := newBench(t, "cottage-bakery", "", screen.Style{})
	b.size(80, 24)
	b.read(5)
	for range 3 {
		r := b.place.At(b.at)
		r.Channels[0].Voltage, r.Channels[1].Voltage = reading.Known(180.0), reading.Known(60.0)
		b.m.Update(tookMsg{r: r, asked: b.at})
		b.at = b.at.Add(time.Second)
	}
	require.Contains(t, b.screen(), "! Stop: the neutral of the service may be lost")
	require.NotContains(t, b.screen(), "Switch a load")
	b.press("s")
	require.Contains(t, b.screen(), "no load step now. Stop")
	b.size(40, 12)
	require.Contains(t, b.screen(), "! Stop: the neutral of the service")
}

func TestADayOfReadingsStaysSmall(t *testing.T) {
	b := newBench(t, "kiln-house", "ct2-reversed", screen.Style{})
	b.size(80, 24)
	hour := make([]reading.Reading, 3600)
	for i := range hour {
		hour[i] = b.place.At(b.at.Add(time.Duration(i) * time.Second))
	}
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	for i := range 86400 {
		r := hour[i%len(hour)]
		r.At = b.at
		b.m.s.Add(r)
		b.at = b.at.Add(time.Second)
		if i%60 == 0 {
			b.m.dirty = true
			b.m.draw()
		}
	}
	runtime.GC()
	runtime.ReadMemStats(&after)
	grown := float64(after.HeapAlloc) - float64(before.HeapAlloc)
	t.Logf("%d events, %.1f MB more on the heap", b.m.s.events.total, grown/1e6)
	require.Less(t, grown, 10e6)
	require.Len(t, b.m.s.events.ring, mostEvents)
}

func TestACaptureEnds(t *testing.T) {
	b := newBench(t, "kiln-house", "", screen.Style{})
	b.size(80, 24)
	b.read(3)
	_, _ = b.m.Update(tookMsg{err: io.EOF, asked: b.at})
	b.at = b.at.Add(time.Second)
	b.m.Update(wakeMsg{})
	require.Contains(t, b.screen(), "end of the capture")
	require.Contains(t, b.screen(), "The capture is over: 3 readings")
}

func TestACaptureThatIsSpoiltEndsTheScreen(t *testing.T) {
	b := newBench(t, "kiln-house", "", screen.Style{})
	b.m.s.o.Counts = nil
	_, cmd := b.m.Update(tookMsg{err: errors.New("kiln.jsonl:7: no time"), asked: b.at})
	require.NotNil(t, cmd)
	require.ErrorContains(t, b.m.Failed(), "kiln.jsonl:7")
}

func TestReadingsThatCantBeKeptAreTold(t *testing.T) {
	b := newBench(t, "kiln-house", "", screen.Style{})
	b.m.feed.Keep = func(reading.Reading) error { return errors.New("no space left") }
	msg := b.m.ask()
	b.m.Update(msg)
	require.ErrorContains(t, b.m.KeepErr(), "no space left")
	require.Nil(t, b.m.feed.Keep)
	list, _ := b.m.s.Events(0)
	require.Contains(t, fmt.Sprint(list), "Not kept from here on: no space left")
}

func TestEventsAreARing(t *testing.T) {
	var e events
	for i := range 3*mostEvents + 7 {
		e.add(Event{Text: fmt.Sprint(i)})
	}
	require.Len(t, e.ring, mostEvents)
	require.Equal(t, fmt.Sprint(3*mostEvents+6), e.last(1)[0].Text)
	require.Equal(t, []Event{{Text: fmt.Sprint(3*mostEvents + 5)}, {Text: fmt.Sprint(3*mostEvents + 6)}}, e.since(3*mostEvents+5))
	require.Len(t, e.since(0), mostEvents)
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
