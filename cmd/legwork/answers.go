package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"strings"
	"time"

	"golang.org/x/term"

	"legwork/cmd/legwork/internal/screen"
)

// answers is a terminal where a person answers questions; nil where there is none.
type answers struct {
	in, out *os.File
	strokes chan stroke
	done    chan struct{}
}

func (a *app) answers() *answers {
	in, ok := a.stdin.(*os.File)
	out, shown := fileOf(a.stderr)
	if !ok || !shown || !term.IsTerminal(int(in.Fd())) {
		return nil
	}
	return &answers{in: in, out: out, done: make(chan struct{})}
}

// end stops listening.
func (k *answers) end() {
	if k != nil {
		close(k.done)
	}
}

// yes asks a question; what was struck before it is no answer.
func (k *answers) yes(ctx context.Context, question string) (bool, error) {
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
	k.say(question + " y/n ")
	defer k.say("\n")
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

// say writes to the terminal while it is raw and begins no line by itself.
func (k *answers) say(text string) {
	var lines bytes.Buffer
	fmt.Fprint(&screen.Guard{To: &lines, Columns: columnsOf(k.out)}, text)
	_, _ = k.out.WriteString(strings.ReplaceAll(lines.String(), "\n", "\r\n"))
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
