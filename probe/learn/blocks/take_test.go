package blocks

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/probe/learn/image"
	"legwork/probe/link"
	"legwork/probe/regmap"
)

func spans(im *image.Image, t regmap.Table) []span {
	var all []span
	for _, b := range im.Blocks {
		if b.Table == t {
			all = append(all, span{b.At, b.At + len(b.Rounds[0])})
		}
	}
	return all
}

// Blocks are found to the register, whatever the meter refuses and how.
func TestBlocksAreFoundToTheirEdges(t *testing.T) {
	for name, c := range map[string]struct {
		blocks []span
		change func(*fake)
		most   int // requests
	}{
		"at the start":             {[]span{{0, 68}}, nil, 600},
		"one register past a base": {[]span{{1, 60}}, nil, 600},
		"several near each other":  {[]span{{300, 368}, {400, 440}, {960, 1000}}, nil, 700},
		"wide":                     {[]span{{3000, 3700}}, nil, 700},
		"at the end of the table":  {[]span{{65500, 65536}}, nil, 5000},
		"at no usual place":        {[]span{{23457, 23525}}, nil, 4000},
		"short requests, 3":        {[]span{{1000, 1300}}, func(f *fake) { f.most = 20 }, 700},
		"short requests, 2":        {[]span{{1000, 1300}}, func(f *fake) { f.most, f.long = 50, 2 }, 700},
		"long requests drop":       {[]span{{0, 300}}, func(f *fake) { f.most, f.long = 60, 0 }, 700},
		"3 for everything":         {[]span{{0, 90}, {100, 150}}, func(f *fake) { f.hole = 3 }, 700},
		"4 for a hole":             {[]span{{512, 700}}, func(f *fake) { f.hole = 4 }, 700},
		"pairs only":               {[]span{{2, 98}, {200, 260}}, func(f *fake) { f.pairs = true }, 800},
		"no input registers": {[]span{{0, 68}}, func(f *fake) {
			f.no = map[link.Function]link.Exception{link.ReadInput: link.IllegalFunction}
		}, 400},
		"input registers are silent": {[]span{{0, 68}}, func(f *fake) {
			f.deaf = map[link.Function]bool{link.ReadInput: true}
		}, 400},
		"both tables are one": {[]span{{0, 168}}, func(f *fake) { f.mirror = true }, 400},
	} {
		t.Run(name, func(t *testing.T) {
			f := newFake(c.blocks...)
			if c.change != nil {
				c.change(f)
			}
			im, err := Take(t.Context(), f, f.options())
			require.NoError(t, err)
			require.Equal(t, c.blocks, spans(im, regmap.Holding))
			require.Empty(t, spans(im, regmap.Input))
			require.Len(t, im.Times, 5)
			require.Less(t, f.asked, c.most)
			t.Log(f.asked, "requests,", f.now.Sub(newFake().now))
		})
	}
}

// A meter that is silent where another refuses is read all the same.
func TestSilenceMayBeARefusal(t *testing.T) {
	f := newFake(span{0, 40}, span{300, 368})
	f.hole, f.patient = 0, 300*time.Millisecond
	im, err := Take(t.Context(), f, f.options())
	require.NoError(t, err)
	require.Equal(t, []span{{0, 40}, {300, 368}}, spans(im, regmap.Holding))
	require.Less(t, f.now.Sub(newFake().now), 6*time.Minute)
}

// A meter that has no register anywhere is asked for zeros without end: only
// what stands among them is taken.
func TestZerosEverywhere(t *testing.T) {
	f := newFake(span{3000, 3068}, span{3300, 3340})
	f.blank = map[link.Function]bool{link.ReadHolding: true, link.ReadInput: true}
	im, err := Take(t.Context(), f, f.options())
	require.NoError(t, err)
	got := spans(im, regmap.Holding)
	require.Equal(t, []span{{2984, 3084}, {3284, 3356}}, got)
	require.Less(t, f.asked, 6000)
	t.Log(f.asked)

	f = newFake()
	f.blank = map[link.Function]bool{link.ReadHolding: true, link.ReadInput: true}
	_, err = Take(t.Context(), f, f.options())
	require.ErrorAs(t, err, new(Nothing))
	require.Less(t, f.asked, 2500)
	t.Log(f.asked)
}

func TestLostAnswersCostNoBlock(t *testing.T) {
	f := newFake(span{0, 68}, span{200, 260})
	f.lost, f.patient = 0.03, 50*time.Millisecond
	im, err := Take(t.Context(), f, f.options())
	require.NoError(t, err)
	require.Equal(t, []span{{0, 68}, {200, 260}}, spans(im, regmap.Holding))
}

// A meter that now and then is busy, or fails, is asked again; how often it was is told.
func TestAMeterThatFailsNowAndThen(t *testing.T) {
	for code, share := range map[link.Exception]float64{4: 0.08, 5: 0.05, 6: 0.2} {
		f := newFake(span{7, 37}, span{200, 260})
		f.failing, f.fails = code, share
		o := f.options()
		var last Step
		o.Step = func(s Step) { last = s }
		im, err := Take(t.Context(), f, o)
		require.NoError(t, err)
		require.Equal(t, []span{{7, 37}, {200, 260}}, spans(im, regmap.Holding), "%v", code)
		require.Less(t, f.asked, 800)
		require.InDelta(t, share*float64(last.Asked), last.Failed, 0.4*share*float64(last.Asked))
		require.Equal(t, code, last.FailedBy)
	}
}

// One that refuses with the code of a failure where it has nothing doesn't fail.
func TestAFailureThatStaysIsARefusal(t *testing.T) {
	f := newFake(span{512, 700})
	f.hole = link.ServerDeviceFailure
	o := f.options()
	var last Step
	o.Step = func(s Step) { last = s }
	_, err := Take(t.Context(), f, o)
	require.NoError(t, err)
	require.Zero(t, last.Failed)

	f = newFake()
	f.hole, f.failing, f.fails = link.IllegalDataAddress, link.ServerDeviceBusy, 1
	_, err = Take(t.Context(), f, f.options())
	require.ErrorContains(t, err, "gave no register so far, and refused ")
	require.ErrorContains(t, err, "exception 6 (server device busy)")
}

func TestAMeterThatGoesAway(t *testing.T) {
	for _, ends := range []int{3, 40, 200, 330} {
		f := newFake(span{0, 68})
		f.ends = ends
		_, err := Take(t.Context(), f, f.options())
		var gone Gone
		require.ErrorAs(t, err, &gone)
		require.False(t, gone.Never)
		require.Less(t, f.asked, ends+12, "it isn't asked for long")
		require.ErrorAs(t, err, new(link.NoAnswer))
	}
}

func TestAMeterThatIsNotThere(t *testing.T) {
	f := newFake()
	f.deaf = map[link.Function]bool{link.ReadHolding: true, link.ReadInput: true}
	_, err := Take(t.Context(), f, f.options())
	var gone Gone
	require.ErrorAs(t, err, &gone)
	require.True(t, gone.Never)
	require.Less(t, f.asked, 30)
}

func TestAMeterWithoutRegisters(t *testing.T) {
	f := newFake()
	_, err := Take(t.Context(), f, f.options())
	var nothing Nothing
	require.ErrorAs(t, err, &nothing)
	require.LessOrEqual(t, f.asked, 6000)
	require.LessOrEqual(t, nothing.Coarsest, 32)

	f = newFake()
	f.no = map[link.Function]link.Exception{3: link.IllegalFunction, 4: link.IllegalFunction}
	_, err = Take(t.Context(), f, f.options())
	require.ErrorAs(t, err, &nothing)
	require.True(t, nothing.Whole)
	require.Less(t, f.asked, 10)
}

// At 9,600 baud a refusal takes 43 ms: looking ends within five minutes.
func TestASlowLineEndsInTime(t *testing.T) {
	f := newFake()
	f.takes = 43 * time.Millisecond
	_, err := Take(t.Context(), f, f.options())
	var nothing Nothing
	require.ErrorAs(t, err, &nothing)
	require.LessOrEqual(t, f.now.Sub(newFake().now), 5*time.Minute+time.Second)
	require.LessOrEqual(t, f.asked, 6000)
}

func TestRangeAndTableNarrowIt(t *testing.T) {
	f := newFake(span{0, 68}, span{3203, 3211}, span{3400, 3600})
	o := f.options()
	o.From, o.To, o.Tables = 3000, 3500, holding
	im, err := Take(t.Context(), f, o)
	require.NoError(t, err)
	require.Equal(t, []span{{3203, 3211}, {3400, 3501}}, spans(im, regmap.Holding))
	for _, r := range f.requests {
		require.Equal(t, link.ReadHolding, r.Function)
		require.GreaterOrEqual(t, int(r.Address), 3000)
		require.LessOrEqual(t, int(r.Address)+int(r.Count)-1, 3500)
	}
	o.Tables = input
	_, err = Take(t.Context(), f, o)
	require.ErrorAs(t, err, new(Nothing))
}

// Islands of three and four registers are found, where a meter refuses whatever
// touches a register beside them.
func TestIslandsAreFound(t *testing.T) {
	for _, c := range []struct{ base, gap int }{{1001, 2}, {1001, 5}, {1001, 12}, {101, 5}, {2000, 5}, {4097, 7}, {3000, 20},
		{512, 8}, {40001, 5}} {
		var islands []span
		at := c.base
		for _, n := range []int{3, 3, 4, 4} {
			islands = append(islands, span{at, at + n})
			at += n + c.gap
		}
		f := newFake(islands...)
		o := f.options()
		o.Enough = func(im *image.Image) bool { return len(im.Blocks) == len(islands) }
		im, err := Take(t.Context(), f, o)
		require.NoError(t, err)
		require.Equal(t, islands, spans(im, regmap.Holding), "%d, %d apart", c.base, c.gap)
		require.Less(t, f.asked, 1000)
	}
}

// What is wide may have what is narrow beside it: that is looked for where it isn't enough.
func TestIslandsBesideABlock(t *testing.T) {
	blocks := []span{{100, 160}, {177, 180}, {201, 204}}
	f := newFake(blocks...)
	o := f.options()
	o.Enough = func(im *image.Image) bool { return len(im.Blocks) == 3 }
	im, err := Take(t.Context(), f, o)
	require.NoError(t, err)
	require.Equal(t, blocks, spans(im, regmap.Holding))
	require.Less(t, f.asked, 1000)
}

// Of a range that is named every register is asked.
func TestARangeIsAskedRegisterByRegister(t *testing.T) {
	f := newFake(span{1027, 1029})
	o := f.options()
	o.From, o.To = 1001, 1100
	im, err := Take(t.Context(), f, o)
	require.NoError(t, err)
	require.Equal(t, []span{{1027, 1029}}, spans(im, regmap.Holding))

	f = newFake(span{1027, 1037})
	f.pairs, f.odd = true, true
	im, err = Take(t.Context(), f, o.of(f))
	require.NoError(t, err)
	require.Equal(t, []span{{1027, 1037}}, spans(im, regmap.Holding), "pairs that begin at odd addresses")

	f = newFake()
	_, err = Take(t.Context(), f, o.of(f))
	var nothing Nothing
	require.ErrorAs(t, err, &nothing)
	require.True(t, nothing.Whole)
	asked := map[uint16]bool{}
	for _, r := range f.requests {
		asked[r.Address] = true
	}
	require.Len(t, asked, 100)
}

// What doesn't explain itself is no reason to stop.
func TestItLooksOnUntilItIsEnough(t *testing.T) {
	f := newFake(span{0, 20}, span{33333, 33420})
	o := f.options()
	o.Enough = func(im *image.Image) bool { return len(im.Blocks) == 2 }
	im, err := Take(t.Context(), f, o)
	require.NoError(t, err)
	require.Equal(t, []span{{0, 20}, {33333, 33420}}, spans(im, regmap.Holding))

	f = newFake(span{0, 20})
	f.frozen = true
	im, err = Take(t.Context(), f, f.options())
	require.NoError(t, err, "nothing moves: it is given all the same")
	require.Len(t, im.Blocks, 1)
}

func TestASignalEndsIt(t *testing.T) {
	f := newFake(span{0, 68})
	ctx, stop := context.WithCancel(t.Context())
	o := f.options()
	o.Step = func(s Step) {
		if s.Asked == 100 {
			stop()
		}
	}
	_, err := Take(ctx, f, o)
	require.True(t, errors.Is(err, context.Canceled))
	require.LessOrEqual(t, f.asked, 101)
}

// Rounds lie over some seconds, and hold what moved meanwhile.
func TestRoundsAreApart(t *testing.T) {
	f := newFake(span{0, 68})
	im, err := Take(t.Context(), f, f.options())
	require.NoError(t, err)
	require.InDelta(t, 4, im.Times[4].Sub(im.Times[0]).Seconds(), 0.1)
	require.NotEqual(t, im.Blocks[0].Rounds[0][3], im.Blocks[0].Rounds[4][3])
	require.Equal(t, im.Blocks[0].Rounds[0][4], im.Blocks[0].Rounds[4][4])
}
