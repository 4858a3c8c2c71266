package watch

import (
	"errors"
	"fmt"
	"io"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/screen"
	"legwork/diagnose"
	"legwork/probe/reading"
	"legwork/sim"
)

// A test that speaks against the verdict gets a line, also where the verdict outlives it;
// one that bears it out gets none.
func TestATestAgainstTheVerdictIsTold(t *testing.T) {
	for test, against := range map[string]bool{"ct 2 arrow right": true, "ct 2 arrow wrong": false} {
		b := newBench(t, "kiln-house", "ct2-reversed", screen.Style{})
		b.size(100, 30)
		b.read(10)
		b.press("t", test, "enter")
		b.read(2)
		told := strings.Join(texts(b.m.s), "\n")
		require.Equal(t, against, strings.Contains(told, "That speaks against the verdict: CT 2 is reversed, 99"), told)
		require.Equal(t, against, strings.Contains(told, "Repeat the test"))
	}
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
	if testing.Short() {
		t.Skip("long, and of one goroutine")
	}
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

// A danger that shows while a load step is led ends it.
func TestADangerBreaksALoadStepOff(t *testing.T) {
	b := newBench(t, "kiln-house", "", screen.Style{})
	b.size(80, 24)
	b.read(10)
	b.press("s", "1")
	b.read(6)
	require.Contains(t, b.screen(), "Switch a load of a few amperes on leg 1 on now")
	require.NoError(t, b.place.SetFault("ct2-open"))
	b.read(3)
	require.NotContains(t, b.screen(), "on leg 1 on now")
	require.Contains(t, b.screen(), "! CT 2 may be open")
	require.Contains(t, b.screen(), "Broken off: no load step now")
}

// What a day may take, four hours already show: after the first nothing grows.
func TestADayOfReadingsStaysSmall(t *testing.T) {
	if testing.Short() {
		t.Skip("memory, which the race detector makes larger")
	}
	shared := tables
	tables = nil // what the session makes counts as well
	t.Cleanup(func() { tables = shared })
	b := newBench(t, "kiln-house", "ct2-reversed", screen.Style{})
	b.size(80, 24)
	hour := make([]reading.Reading, 3600)
	for i := range hour {
		hour[i] = b.place.At(b.at.Add(time.Duration(i) * time.Second))
	}
	heap := func() float64 {
		var m runtime.MemStats
		runtime.GC()
		runtime.ReadMemStats(&m)
		return float64(m.HeapAlloc)
	}
	before, first := heap(), 0.0
	for i := range 4 * len(hour) {
		if i == len(hour) {
			first = heap()
		}
		r := hour[i%len(hour)]
		r.At = b.at
		b.m.s.Add(r)
		b.at = b.at.Add(time.Second)
		if i%60 == 0 {
			b.m.dirty = true
			b.m.draw()
		}
	}
	after := heap()
	t.Logf("%d events, %.1f MB more on the heap, %.2f of them after the first hour", b.m.s.events.total, (after-before)/1e6, (after-first)/1e6)
	require.Less(t, after-before, 12e6)
	require.Less(t, after-first, 12e6/48) // in three hours less than half an hour's share of what a day may take
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
	require.Contains(t, b.screen(), "End of the capture: 3 readings")
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
