package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"time"

	"golang.org/x/term"
)

// answers is a terminal where a person answers questions; nil where there is none.
type answers struct {
	in      *os.File
	show    io.Writer
	strokes chan stroke
	done    chan struct{}
}

func (a *app) answers() *answers {
	in, ok := a.stdin.(*os.File)
	if _, shown := fileOf(a.stderr); !ok || !shown || !term.IsTerminal(int(in.Fd())) {
		return nil
	}
	return &answers{in: in, show: a.stderr, done: make(chan struct{})}
}

// end stops listening.
func (k *answers) end() {
	if k != nil {
		close(k.done)
	}
}

// yes asks a question; what was struck before it is no answer.
func (k *answers) yes(ctx context.Context, question string) (bool, error) {
	fmt.Fprintf(k.show, "%s y/n ", question)
	defer fmt.Fprintln(k.show) // once the terminal is as before, which begins lines by itself
	before, err := term.MakeRaw(int(k.in.Fd()))
	if err != nil {
		return false, err
	}
	defer term.Restore(int(k.in.Fd()), before)
	if k.strokes == nil { // one listener for all questions: a second one would lose keys to the first
		k.strokes = make(chan stroke)
		t := tapper{in: k.in, now: time.Now}
		go t.read(k.strokes, k.done)
	}
	asked := time.Now()
	for {
		select {
		case <-ctx.Done():
			return false, errInterrupted
		case s := <-k.strokes:
			if yes, known, err := s.answer(asked); known || err != nil {
				return yes, err
			}
		}
	}
}

// answer is what the keys of a stroke say; one from before the question says nothing.
func (s stroke) answer(asked time.Time) (yes, known bool, err error) {
	for _, key := range s.keys {
		switch key {
		case keyInterrupt, keyEnd, 'q':
			return false, false, errInterrupted
		case 'y', 'Y', 'n', 'N':
			if s.at.After(asked) {
				return key == 'y' || key == 'Y', true, nil
			}
		}
	}
	if s.err != nil {
		return false, false, errInterrupted
	}
	return false, false, nil
}
