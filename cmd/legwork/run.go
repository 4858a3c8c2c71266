package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"slices"
	"strings"
	"sync/atomic"
	"syscall"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"legwork/cmd/legwork/internal/files"
	"legwork/cmd/legwork/internal/flags"
	"legwork/cmd/legwork/internal/help"
	"legwork/cmd/legwork/internal/screen"
	"legwork/cmd/legwork/internal/source"
	"legwork/probe/sheet"
)

// The exit statuses that scripts rely on.
const (
	exitAgrees    = 0
	exitFault     = 1
	exitWrong     = 2 // the command, a file or a value
	exitUndecided = 3
	exitUnread    = 4 // the meter
)

// status ends the command with an exit status and nothing more to say.
type status int

func (s status) Error() string { return fmt.Sprintf("exit status %d", int(s)) }

// app is what every command shares.
type app struct {
	stdin          io.Reader
	stdout, stderr io.Writer
	plain          bool        // for a screen reader
	serves         atomic.Bool // it closes connections in their order when it is interrupted

	found map[string]completed // what METERs in short turned out to be
}

func run(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	a := &app{stdin: stdin, stdout: &screen.Guard{To: stdout}, found: map[string]completed{},
		stderr: &screen.Guard{To: stderr, Columns: columnsOf(stderr)}}
	if style := a.style(); style.Colour {
		a.stdout = &screen.Guard{To: stdout, Colours: true}
	}
	root := a.root()
	root.SetArgs(args)
	root.SetIn(stdin)
	root.SetOut(a.stdout)
	root.SetErr(a.stderr)
	return a.exit(a.within(ctx, func() error { return root.ExecuteContext(ctx) }))
}

// grace is how long a command has to end by itself once it is interrupted; our
// choice. What it writes is whole or not there at any moment.
const grace = 700 * time.Millisecond

// closing is how long one that serves may take to close what it serves.
const closing = 10 * time.Second

func (a *app) grace() time.Duration {
	if a.serves.Load() {
		return closing
	}
	return grace
}

// within runs a command and gives it up where a signal doesn't end it: it waits
// in a read of a pipe, for a lock, or in a parser. The terminal is as before.
func (a *app) within(ctx context.Context, command func() error) error {
	ended := make(chan error, 1)
	restore := a.terminalState()
	go func() { ended <- command() }()
	select {
	case err := <-ended:
		return err
	case <-ctx.Done():
	}
	select {
	case err := <-ended:
		return err
	case <-time.After(a.grace()):
		restore()
		return errInterrupted
	}
}

// terminalState remembers how the terminal is set.
func (a *app) terminalState() (restore func()) {
	f, ok := fileOf(a.stdin)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return func() {}
	}
	state, err := term.GetState(int(f.Fd()))
	if err != nil {
		return func() {}
	}
	return func() { _ = term.Restore(int(f.Fd()), state) }
}

// exit says what went wrong, one line a fault, and gives the status.
func (a *app) exit(err error) int {
	var code status
	if err != nil {
		err = a.explain(err)
	}
	switch {
	case err == nil:
		return a.written()
	case errors.As(err, &code):
		return int(code)
	case errors.Is(err, syscall.EPIPE):
		return exitWrong
	}
	for line := range strings.SplitSeq(strings.TrimRight(err.Error(), "\n"), "\n") {
		fmt.Fprintln(a.stderr, sheet.Short(line))
	}
	if errors.As(err, new(source.Unread)) {
		return exitUnread
	}
	return exitWrong
}

// written is 0, or 2 where the output of a command that went well was lost.
func (a *app) written() int {
	if g, ok := a.stdout.(*screen.Guard); ok && g.Err != nil && !errors.Is(g.Err, syscall.EPIPE) {
		fmt.Fprintf(a.stderr, "the output can't be written: %v\n", files.Plain(g.Err))
		return exitWrong
	}
	return exitAgrees
}

// groups are the moments that commands serve.
var groups = []*cobra.Group{
	{ID: "look", Title: "Looking at a meter:"},
	{ID: "many", Title: "Many meters:"},
	{ID: "before", Title: "Before the CTs go on:"},
	{ID: "wires", Title: "Wires to a meter:"},
	{ID: "paper", Title: "On paper:"},
	{ID: "bench", Title: "On the bench:"},
}

func (a *app) root() *cobra.Command {
	root := &cobra.Command{
		Use:   "legwork",
		Short: "Says whether a meter's current transformers and voltage inputs are wired right",
		Long: "legwork reads an electricity meter over Modbus, says whether its current\n" +
			"transformers (CTs) and voltage inputs are wired right, and if not which conductor\n" +
			"to move and what should be read then. It only ever reads.",
		Args:              noArguments,
		SilenceErrors:     true,
		SilenceUsage:      true,
		CompletionOptions: cobra.CompletionOptions{HiddenDefaultCmd: true},

		SuggestionsMinimumDistance: 2,

		Version: version,
		RunE:    func(*cobra.Command, []string) error { return a.welcome() },
	}
	cobra.EnableCommandSorting = false // the three most used stand first
	root.AddCommand(a.start(), a.diagnose(), a.watch(), a.read(), a.loadstep(), a.phasetest(), a.find(), a.line(), a.ports())
	root.AddCommand(a.clamp(), a.pulses(), a.ledger(), a.energy(), a.mapCommand(), a.sim(), a.jobCommand(),
		a.recordCommand(), a.report())
	root.AddCommand(a.survey(), a.trace(), a.desk(), a.version())
	root.AddCommand(a.packageFiles()...)
	for _, t := range help.Topics() {
		root.AddCommand(&cobra.Command{Use: t.Name, Short: t.Short, Long: t.Text})
	}
	addGroups(root)
	addHelp(root)
	root.PersistentFlags().BoolVar(&a.plain, "plain", false,
		"for a screen reader: lines and words, no pictures, columns or colour (or set LEGWORK_PLAIN)")
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		if refused, ours := flags.Explain(err); ours {
			return refused
		}
		return fmt.Errorf("%s: %w; `%s --help` lists the flags", c.CommandPath(), err, c.CommandPath())
	})
	return root
}

// addGroups names the moments that have a command.
func addGroups(root *cobra.Command) {
	for _, g := range groups {
		if slices.ContainsFunc(root.Commands(), func(c *cobra.Command) bool { return c.GroupID == g.ID }) {
			root.AddGroup(g)
		}
	}
}

// group is a command that only holds others.
func group(use, id, short string, commands ...*cobra.Command) *cobra.Command {
	c := &cobra.Command{
		Use:     use,
		GroupID: id,
		Short:   short,
		Args:    noArguments,
		RunE:    func(c *cobra.Command, _ []string) error { return c.Help() },

		SuggestionsMinimumDistance: 2,
	}
	c.AddCommand(commands...)
	return c
}

// noArguments refuses what is no command, with the near one.
func noArguments(c *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	if near := c.SuggestionsFor(args[0]); len(near) > 0 {
		return fmt.Errorf("%q is not a command of %s; did you mean %s?", args[0], c.CommandPath(), near[0])
	}
	return fmt.Errorf("%q is not a command of %s; `%s --help` lists them", args[0], c.CommandPath(), c.CommandPath())
}

// oneArgument asks for exactly one.
func oneArgument(what string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		switch {
		case len(args) == 0:
			return fmt.Errorf("%s: say %s, such as `%s`", c.CommandPath(), what, c.Example)
		case len(args) > 1:
			return fmt.Errorf("%s: %s, one at a time; %q is one too many", c.CommandPath(), what, args[1])
		}
		return nil
	}
}

// atMostOne asks for one or none.
func atMostOne(what string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) == 0 {
			return nil
		}
		return oneArgument(what)(c, args)
	}
}

// fileOf is the file behind a writer or a reader, where there is one.
func fileOf(w any) (*os.File, bool) {
	if g, ok := w.(*screen.Guard); ok {
		w = g.To
	}
	f, ok := w.(*os.File)
	return f, ok
}

// columnsOf is how wide the terminal behind a writer is, 80 where it doesn't say;
// 0 where there is none.
func columnsOf(w io.Writer) int {
	f, ok := fileOf(w)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return 0
	}
	if columns, _, err := term.GetSize(int(f.Fd())); err == nil && columns > 0 {
		return columns
	}
	return 80
}

// style is what the screen can show: colour only on a terminal, ASCII where
// the locale says so.
func (a *app) style() screen.Style {
	words := a.inWords()
	s := screen.Style{ASCII: asciiLocale() || words, Words: words}
	columns := columnsOf(a.stdout)
	if columns == 0 || words {
		return s
	}
	s.Colour = os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb"
	s.Width = min(columns, 100)
	return s
}

// inWords reports a person who has the screen read out.
func (a *app) inWords() bool { return a.plain || os.Getenv("LEGWORK_PLAIN") != "" }

// talk is the style of what is said beside the result.
func (a *app) talk() screen.Style {
	s := a.style()
	s.Colour = false
	return s
}

// asciiLocale reports a locale that names another character set than UTF-8
// (POSIX, 8.2: LC_ALL goes before LC_CTYPE, and that before LANG).
func asciiLocale() bool {
	for _, name := range []string{"LC_ALL", "LC_CTYPE", "LANG"} {
		if v := os.Getenv(name); v != "" {
			v = strings.ToLower(v)
			return !strings.Contains(v, "utf-8") && !strings.Contains(v, "utf8")
		}
	}
	return false
}
