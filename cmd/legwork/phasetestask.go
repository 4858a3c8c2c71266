package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/files"
	"legwork/cmd/legwork/internal/keep"
	"legwork/cmd/legwork/internal/screen"
	"legwork/diagnose/phasetest"
)

// phaseWalk leads a person through a phase test. Every answer is in a worksheet
// before the next question, so that a test that was broken off goes on.
type phaseWalk struct {
	*asker
	app  *app
	walk phasetest.Walk
	file string
	src  []byte // of the worksheet as it is
}

// askPhases asks for the readings of a test, and gives them.
func (a *app) askPhases(c *cobra.Command, f *phasetestFlags, k *keep.Keeper) (t phasetest.Test, all []phasetest.Reading,
	err error) {
	if len(f.readings) > 0 {
		return t, nil, errors.New("--ask asks for each reading; leave out --reading")
	}
	t, readings, err := f.answered(c)
	if err != nil {
		return t, nil, err
	}
	w := &phaseWalk{asker: newAsker(a.stdin, a.stderr, false), app: a,
		walk: phasetest.Walk{Test: t, Readings: readings}, file: f.file}
	if w.src, err = os.ReadFile(w.file); errors.Is(err, fs.ErrNotExist) {
		w.src = t.Sheet()
		err = files.Output{Name: w.file}.Write(w.src)
	}
	if err == nil {
		err = screen.PhaseIntro(a.stderr, screen.PhaseAsked{Test: t, File: w.file, Taken: len(readings)}, a.talk())
	}
	if err == nil {
		err = w.lead(c.Context())
	}
	if errors.Is(err, errNoAnswer) {
		err = nil // what is there so far is judged
	}
	k.File(w.file, w.src)
	if errors.Is(err, errInterrupted) {
		err = fmt.Errorf("interrupted; the answers are kept in %s, and the same command goes on", w.file)
	}
	return w.walk.Test, w.walk.Readings, err
}

// answered takes up the worksheet that holds the answers, where there is one.
func (f *phasetestFlags) answered(c *cobra.Command) (t phasetest.Test, all []phasetest.Reading, err error) {
	if f.file != "" && f.worksheet != "" {
		return t, nil, errors.New("--ask keeps the answers in one worksheet; name it with --file or with --worksheet")
	}
	named := f.file + f.worksheet
	f.file, f.worksheet = "", ""
	if err = f.fromFlags(c, &t); err != nil && named == "" {
		return t, nil, err
	}
	if f.file = named; named == "" {
		f.file = f.answersFile(t)
	}
	if _, err := os.Stat(f.file); errors.Is(err, fs.ErrNotExist) {
		at := f.file
		f.file = ""
		err = f.fromFlags(c, &t)
		f.file = at
		return t, nil, err
	}
	if t, all, err = f.fromFile(nil); err != nil {
		return t, nil, err
	}
	if f.job != nil {
		f.service = "" // the file has one; fromJob compares the two
	}
	return t, all, f.fromFlags(c, &t)
}

// answersFile is the worksheet of a test that names none: beside the job's sheet,
// or here.
func (f *phasetestFlags) answersFile(t phasetest.Test) string {
	method := ""
	if t.Dead {
		method = "-dead"
	}
	if f.job != nil {
		return strings.TrimSuffix(f.job.File, filepath.Ext(f.job.File)) + ".phasetest" + method + ".yaml"
	}
	return "phasetest-" + strings.ReplaceAll(t.Service.Name, "/", "-") + method + ".yaml"
}

// lead asks for everything that is wanted.
func (w *phaseWalk) lead(ctx context.Context) error {
	t := &w.walk.Test
	if !t.Before && !t.Proved {
		yes, known, err := w.yesNo(ctx, "Was the tester proved on a known source before?")
		if err != nil || !known {
			return err
		}
		if !yes {
			return w.remark("Prove it first: a tester that has failed reads about 0 V to everything, or open.")
		}
		t.Before = true
		if err := w.keepProof(phasetest.ProvedBefore); err != nil {
			return err
		}
	}
	all, err := w.readings(ctx)
	if err != nil || !all || t.Proved {
		return err
	}
	yes, _, err := w.yesNo(ctx, "Prove the tester again. Was it in order?")
	if err != nil || !yes {
		return err
	}
	t.Proved = true
	return w.keepProof(phasetest.ProvedAfter)
}

func (w *phaseWalk) keepProof(field string) error {
	src, err := phasetest.FillProved(w.src, field)
	if err != nil {
		return fmt.Errorf("%s: %w", w.file, err)
	}
	return w.write(src)
}

// readings asks for one after the other; all is false where the person stopped.
func (w *phaseWalk) readings(ctx context.Context) (all bool, err error) {
	for {
		q, ok := w.walk.Next()
		if !ok {
			return true, nil
		}
		answer, err := w.ask(ctx, prompt(q), "")
		if err != nil {
			return false, err
		}
		switch answer {
		case "stop":
			return false, nil
		case "":
			w.walk.Leave(q.Pair)
			continue
		}
		if err := w.take(ctx, q, answer); err != nil {
			return false, err
		}
	}
}

// prompt is a question on one line.
func prompt(q phasetest.Question) string {
	var b strings.Builder
	if q.Number > 0 {
		fmt.Fprintf(&b, "%2d of %d  ", q.Number, q.Of)
	} else {
		b.WriteString("One more  ")
	}
	fmt.Fprintf(&b, "%s, %s", q.Name, q.Words)
	if q.May != "" {
		b.WriteString(", " + q.May)
	}
	if q.Again {
		b.WriteString(", again, probes set anew")
	}
	return b.String() + ":"
}

func (w *phaseWalk) remark(text string) error { return screen.Remark(w.app.stderr, text, w.app.talk()) }

// take keeps an answer: a value, or a pair and its value. What isn't understood is
// said, and the question comes again.
func (w *phaseWalk) take(ctx context.Context, q phasetest.Question, answer string) error {
	for {
		r, err := w.walk.Test.ParseAnswer(q.Pair, answer)
		if err != nil {
			return w.remark(err.Error())
		}
		src, err := w.walk.Test.Fill(w.src, r)
		if err != nil {
			return fmt.Errorf("%s: %w", w.file, err)
		}
		if err := w.write(src); err != nil {
			return err
		}
		again, odd := w.walk.Take(r)
		if !odd {
			return nil
		}
		_ = w.remark(fmt.Sprintf("%s is nothing that %s gives there; Enter alone leaves it at that",
			w.walk.Test.Write(r), w.walk.Test.Service.Name))
		if answer, err = w.ask(ctx, prompt(again), ""); err != nil || answer == "" {
			return err
		}
		q = again
	}
}

// write puts the worksheet in place of the one that is there, unless someone else
// has changed that one.
func (w *phaseWalk) write(src []byte) error {
	now, err := os.ReadFile(w.file)
	switch {
	case err != nil:
		return err
	case !bytes.Equal(now, w.src):
		return fmt.Errorf("%s was changed meanwhile; run the same command again, and it goes on with what is there", w.file)
	}
	own := func(begins []byte) bool { return bytes.HasPrefix(w.src, begins) }
	if err := (files.Output{Name: w.file, Kind: "the worksheet that was begun", Own: own}).Write(src); err != nil {
		return err
	}
	w.src = src
	return nil
}
