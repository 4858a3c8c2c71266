package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/files"
	"legwork/cmd/legwork/internal/flags"
	"legwork/cmd/legwork/internal/screen"
	"legwork/cmd/legwork/internal/sites"
	"legwork/cmd/legwork/internal/survey"
	"legwork/cmd/legwork/internal/surveypage"
)

// patienceFlags are how long meters of a list are waited for.
type patienceFlags struct {
	timeout time.Duration
	retries int
}

func (f *patienceFlags) add(c *cobra.Command, retries int) {
	c.Flags().DurationVar(&f.timeout, "timeout", time.Second, "how long to wait for one answer")
	c.Flags().IntVar(&f.retries, "retries", retries, "further tries for an answer that doesn't come")
}

func (f *patienceFlags) check() error {
	switch {
	case f.timeout <= 0:
		return fmt.Errorf("--timeout %s: wait some time for an answer, such as 500ms", f.timeout)
	case f.retries < 0:
		return fmt.Errorf("--retries %d is below zero", f.retries)
	}
	return nil
}

type surveyFlags struct {
	patienceFlags
	samples, atOnce      int
	interval             time.Duration
	format, out, against string
}

func (a *app) survey() *cobra.Command {
	var f surveyFlags
	c := &cobra.Command{
		Use:     "survey SITES",
		GroupID: "many",
		Short:   "Read and judge every meter of a list: who goes where first",
		Long: "Reads every meter of a sites file (CSV with name, meter, map, service, site, under ...) or\n" +
			"a folder of job sheets once, judges it, and ranks them by the power that is lost.\n" +
			"Exit status: 1 if any meter has a fault, else 4 if any couldn't be read, else 3 if any\n" +
			"is undecided, else 0; 2 for a wrong file.",
		Example: "legwork survey sites.csv -o survey.html",
		Args:    oneArgument("a sites FILE or folder"),
		RunE:    func(c *cobra.Command, args []string) error { return a.runSurvey(c.Context(), args[0], f) },
	}
	f.patienceFlags.add(c, 1)
	c.Flags().IntVar(&f.samples, "samples", 1, "readings to take of each meter `N`")
	c.Flags().Var(flags.Duration(&f.interval, time.Second, flags.FromZero), "interval", "time between two readings of a meter")
	c.Flags().IntVar(&f.atOnce, "at-once", survey.DefaultAtOnce, "wires to ask at once `N`")
	choice{&f.format, "format", "`text`, json or csv", []string{"text", "json", "csv"}}.add(c)
	c.Flags().StringVarP(&f.out, "output", "o", "", "write a page to `FILE`.html too")
	c.Flags().StringVar(&f.against, "against", "",
		"say what changed since an earlier survey, kept with --format json in `FILE`")
	return c
}

func (f *surveyFlags) check() error {
	switch ext := strings.ToLower(filepath.Ext(f.out)); {
	case f.samples < 1:
		return fmt.Errorf("--samples %d: take at least 1", f.samples)
	case f.atOnce < 1:
		return fmt.Errorf("--at-once %d: ask at least 1 wire", f.atOnce)
	case f.out != "" && ext != ".html" && ext != ".htm":
		return fmt.Errorf("-o %s: a survey's page is .html; --format csv or json writes the others", f.out)
	}
	return f.patienceFlags.check()
}

func (a *app) runSurvey(ctx context.Context, file string, f surveyFlags) error {
	if err := f.check(); err != nil {
		return err
	}
	earlier, err := f.earlier()
	if err != nil {
		return err
	}
	list, err := sites.Load(file)
	if err != nil {
		return err
	}
	show := a.progress()
	begun := time.Now()
	r := survey.Run(ctx, list, survey.Options{Samples: f.samples, Interval: f.interval, AtOnce: f.atOnce,
		Timeout: f.timeout, Retries: f.retries, Told: a.toldInFull(),
		Progress: func(done, all int) { show.many(done, all, time.Since(begun)) }})
	show.end()
	if earlier != nil {
		r.Against = survey.Compare(r, earlier, func(name string) bool { return list.Find(name) != nil })
	}
	if err := a.tellSurvey(r, f.format); err != nil {
		return err
	}
	if err := f.writePage(r); err != nil {
		return err
	}
	return surveyStatus(r)
}

func (f *surveyFlags) earlier() (*survey.Result, error) {
	if f.against == "" {
		return nil, nil
	}
	src, err := os.ReadFile(f.against)
	if err != nil {
		return nil, fmt.Errorf("--against %w", err)
	}
	r, err := survey.ParseResult(f.against, src)
	if err != nil {
		return nil, fmt.Errorf("--against %w", err)
	}
	return r, nil
}

func (a *app) tellSurvey(r *survey.Result, format string) error {
	switch format {
	case "json":
		return json.NewEncoder(a.stdout).Encode(r)
	case "csv":
		return survey.CSV(a.stdout, r)
	}
	return screen.Survey(a.stdout, *r, a.style())
}

// writePage writes the page, once the survey is told: what was read isn't lost where the
// disk is full.
func (f *surveyFlags) writePage(r *survey.Result) error {
	if f.out == "" {
		return nil
	}
	var b bytes.Buffer
	if err := surveypage.Write(&b, r); err != nil {
		return err
	}
	out := files.Output{Name: f.out, Kind: "a survey of legwork", Own: surveypage.Is}
	if err := out.Write(b.Bytes()); err != nil {
		return fmt.Errorf("-o %w", err)
	}
	return nil
}

// surveyStatus is the exit status: what is worst. A survey that was interrupted
// left meters unread.
func surveyStatus(r *survey.Result) error {
	switch c := r.Counts; {
	case c.Fault > 0:
		return status(exitFault)
	case c.Unreadable > 0 || !r.Complete:
		return status(exitUnread)
	case c.Undecided > 0:
		return status(exitUndecided)
	}
	return nil
}

// many shows how far a list is, how fast it goes, and how long it may take.
func (p *progress) many(done, all int, taken time.Duration) {
	if !p.live || done%max(1, all/200) != 0 && done < all {
		return
	}
	rate := float64(done) / max(taken.Seconds(), 1e-3)
	left := time.Duration(float64(all-done) / rate * float64(time.Second))
	p.tell("%d of %d meters, %.0f a second, %s left", done, all, rate, roundly(left))
}
