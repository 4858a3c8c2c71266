package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/files"
	"legwork/cmd/legwork/internal/flags"
	"legwork/cmd/legwork/internal/screen"
	"legwork/cmd/legwork/internal/source"
	"legwork/probe/learn"
	"legwork/probe/learn/blocks"
	"legwork/probe/learn/image"
	"legwork/probe/link"
	"legwork/probe/mend"
	"legwork/probe/regmap"
)

// learnFlags say where is looked, and what is known already.
type learnFlags struct {
	meterFlags
	measured flags.List[learn.Measured]
	write    string
	within   addresses
	table    string

	unwritten string // what isn't written where it is stopped; empty is nothing at all
}

func (a *app) mapLearn() *cobra.Command {
	var f learnFlags
	c := &cobra.Command{
		Use:   "learn METER",
		Short: "Find out from a live meter which registers hold what, with no documentation",
		Long: "Looks for the meter's registers, reads them several times over and finds out from what\n" +
			"agrees with what where voltage, current and power are. What a multimeter, a clamp or the\n" +
			"meter's display shows settles what stays open. It reads only, with functions 3 and 4.\n" +
			"Exit status: 0 the map was written, 3 not settled, 4 the meter couldn't be read.",
		Example: "legwork map learn tcp://10.0.0.7/1 --measured \"channel 1: 87 A\" --write kiln.map.yaml",
		Args:    oneArgument("a METER"),
		RunE:    func(c *cobra.Command, args []string) error { return a.runMapLearn(c, args[0], f) },
	}
	f.add(c)
	for _, name := range []string{"map", "service", "fault", "seed"} {
		_ = c.Flags().MarkHidden(name)
	}
	c.Flags().Var(flags.Each(&f.measured, learn.ParseMeasured), "measured",
		"what an instrument or the display shows, such as `\"channel 1: 121.4 V\"`; again for more")
	c.Flags().StringVar(&f.write, "write", "", "write the map to `FILE`; else it goes to standard output")
	c.Flags().Var(flags.Text(&f.within, "", parseAddresses), "range", "look at these addresses only, such as `3000-3500`")
	choice{&f.table, "table", "look in `both` tables, holding or input", []string{"both", "holding", "input"}}.add(c)
	_ = c.MarkFlagFilename("write", "yaml", "yml")
	return c
}

func (a *app) runMapLearn(c *cobra.Command, meter string, f learnFlags) error {
	address, err := a.address(c, meter, &f.meterFlags)
	if err != nil {
		return a.explain(err)
	}
	switch address.Kind {
	case source.Capture, source.PromQL:
		return fmt.Errorf("%s is no meter that can be asked; a map is learned from a live one", meter)
	case source.Sim:
		return fmt.Errorf("%s brings its own map; learn one from `legwork sim %s --layout 7`, at tcp://127.0.0.1:5020/1",
			meter, address.Name)
	}
	if f.write != "" {
		if err := mayBeNew(f.write); err != nil {
			return fmt.Errorf("--write %w", err)
		}
	}
	if f.Unit != 0 {
		address.Unit = f.Unit
	}
	address.Unit = max(address.Unit, 1)
	found, err := a.takeRegisters(c.Context(), address, f)
	if err != nil {
		return err
	}
	return a.tellLearned(c.Context(), address, f, found)
}

// learned is what a search brought and what was understood of it.
type learned struct {
	screen.Registers
	result *learn.Result
}

// takeRegisters looks for the meter's registers and reads them.
func (a *app) takeRegisters(ctx context.Context, at source.Address, f learnFlags) (learned, error) {
	var found learned
	l, err := newHastening(ctx, at, f.Options)
	if err != nil {
		return found, err
	}
	defer l.Close()
	begun := time.Now()
	o := blocks.Options{Unit: byte(at.Unit), From: f.within.from, To: f.within.to}
	switch f.table {
	case "holding":
		o.Tables = []regmap.Table{regmap.Holding}
	case "input":
		o.Tables = []regmap.Table{regmap.Input}
	}
	var seen *image.Image
	o.Enough = func(im *image.Image) bool {
		seen, found.result = im, learn.Understand(im, f.measured.Values)
		return found.result.Channels > 0 // what is open then, an instrument settles
	}
	p := a.progress()
	o.Step = func(s blocks.Step) {
		found.Asked, found.Failed, found.By = s.Asked, s.Failed, s.FailedBy
		p.looks(s)
	}
	fmt.Fprintf(a.stderr, "%s: looking for its registers, at most 6,000 questions or five minutes; interrupt to stop\n",
		at.Text)
	found.Image, err = blocks.Take(ctx, l, o)
	p.end()
	found.Took = time.Since(begun)
	switch {
	case errors.Is(err, context.Canceled):
		return found, source.Unread{Err: fmt.Errorf("stopped after %d questions; %s is written", found.Asked,
			cmp.Or(f.unwritten, "nothing"))}
	case errors.As(err, new(blocks.Nothing)):
		return found, source.Unread{Err: fmt.Errorf("%s, unit %d: %w; is it the right unit? `--range` and `--table` look "+
			"elsewhere", at.Text, at.Unit, err)}
	case err != nil:
		return found, source.Unread{Err: fmt.Errorf("%s, unit %d: %w", at.Text, at.Unit, err)}
	}
	if found.Image != seen {
		found.result = learn.Understand(found.Image, f.measured.Values)
	}
	return found, nil
}

// looks says how far the search for registers is.
func (p *progress) looks(s blocks.Step) {
	switch s.Stage {
	case blocks.Reading:
		p.tell("reading them for the %s time of %d", ordinal(s.Done+1), s.Most)
	case blocks.Growing:
		p.tell("%d questions asked, %s found, more at %s %d  (about %s left)", s.Asked,
			registers(s.Registers), s.Table, s.Address, roundly(s.Left))
	default:
		p.tell("%d of %d places asked, %s found  (about %s left)", s.Done, s.Most, registers(s.Registers), roundly(s.Left))
	}
}

func ordinal(n int) string {
	return [...]string{"first", "second", "third", "fourth", "fifth", "sixth"}[min(n-1, 5)]
}

// tellLearned says what was found, writes the map and checks it against the meter.
func (a *app) tellLearned(ctx context.Context, at source.Address, f learnFlags, found learned) error {
	r := found.result
	r.Unit = at.Unit
	to := a.stdout
	if f.write == "" {
		to = a.stderr // the map itself goes to standard output
	}
	if err := screen.Learned(to, found.Registers, r, a.style()); err != nil {
		return err
	}
	m := r.Map()
	if !r.Settled || m == nil {
		return status(exitUndecided)
	}
	proposal, err := a.checkLearned(ctx, at, m, f)
	if err != nil {
		return err
	}
	for _, one := range proposal.Mends {
		fmt.Fprintf(a.stderr, "%s: what is read by this map contradicts itself (%s): %s\n",
			one.Points[0], one.Change, strings.Join(one.Why, "; "))
	}
	if len(proposal.Mends) > 0 {
		fmt.Fprintln(a.stderr, "Nothing is written. Read again with what an instrument shows: --measured")
		return status(exitUndecided)
	}
	if f.write == "" {
		_, err := a.stdout.Write(r.File())
		return err
	}
	if err := mapFormat.write(files.Output{Name: f.write}, sealed(r.File())); err != nil {
		return fmt.Errorf("--write %w", err)
	}
	_, err = fmt.Fprintf(to, "Written: %s. Next: legwork diagnose '%s' --map %[1]s\n", f.write, at.Text)
	return err
}

// checkLearned reads the meter by the map and looks for what contradicts it.
func (a *app) checkLearned(ctx context.Context, at source.Address, m *regmap.Map, f learnFlags) (mend.Proposal, error) {
	live, err := source.OpenMapped(ctx, at, m, f.Options)
	if err != nil {
		return mend.Proposal{}, err
	}
	defer live.Close()
	for try := 1; ; try++ {
		p, err := a.contradictions(ctx, live, m)
		if err != nil || len(p.Mends) == 0 || try == checks {
			return p, err
		}
	}
}

// checks is how often a map has to contradict itself: a meter may have been too busy
// to give a register once. Our choice.
const checks = 3

func (a *app) contradictions(ctx context.Context, live *source.Meter, m *regmap.Map) (mend.Proposal, error) {
	if _, err := live.Next(ctx); err != nil {
		return mend.Proposal{}, err
	}
	read, err := live.Registers(ctx, func(ctx context.Context) error { return pause(ctx, 300*time.Millisecond) })
	if err != nil && ctx.Err() != nil {
		return mend.Proposal{}, errInterrupted
	}
	if err != nil || len(read) == 0 {
		return mend.Proposal{}, nil // nothing beside its points can be read: it is as it was learned
	}
	return mend.Propose(m, read), nil
}

// addresses are a range of them, the last one included; the zero value is all.
type addresses struct{ from, to int }

func parseAddresses(text string) (addresses, error) {
	low, high, ok := strings.Cut(text, "-")
	from, err := strconv.ParseUint(strings.TrimSpace(low), 10, 16)
	to, err2 := strconv.ParseUint(strings.TrimSpace(high), 10, 16)
	if !ok || err != nil || err2 != nil || to < from || to == 0 {
		return addresses{}, flags.Refused{What: fmt.Sprintf("%q is no range of addresses", text),
			Mend: "write the first and the last, from 0 as on the wire to 65535, such as 3000-3500"}
	}
	return addresses{int(from), int(to)}, nil
}

// hastening is a link that is made anew, less patient, once a meter turns out to
// be silent where another refuses: thousands of questions then go without an
// answer, and each would cost the whole time-out.
type hastening struct {
	link.Counted
	dial     func(timeout time.Duration) (link.Counted, error)
	patience time.Duration
	hastened bool
}

func newHastening(ctx context.Context, at source.Address, o source.Options) (*hastening, error) {
	h := &hastening{patience: o.Timeout}
	h.dial = func(timeout time.Duration) (link.Counted, error) {
		o.Timeout, o.Retries = timeout, 0 // the search asks again itself
		return source.Dial(ctx, at, o)
	}
	var err error
	h.Counted, err = h.dial(o.Timeout)
	return h, err
}

const (
	enoughAnswers = 8 // that a meter's speed is known; our choice
	leastPatience = 150 * time.Millisecond
	moreThan      = 4 // times the slowest answer is waited for
)

// Registers asks, and learns from silence.
func (h *hastening) Registers(ctx context.Context, r link.Read) ([]uint16, error) {
	words, err := h.Counted.Registers(ctx, r)
	if h.hastened || !errors.As(err, new(link.NoAnswer)) {
		return words, err
	}
	c := h.Counts()
	wait := max(leastPatience, moreThan*c.Slowest)
	if c.Answers+c.Exceptions < enoughAnswers || wait > h.patience/2 {
		return words, err
	}
	_ = h.Counted.Close()
	quicker, failed := h.dial(wait)
	if failed != nil {
		return nil, failed
	}
	h.Counted, h.hastened = quicker, true
	return words, err
}
