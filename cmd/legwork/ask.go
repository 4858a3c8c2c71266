package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"golang.org/x/term"
)

// asker puts questions to a person, a line an answer.
type asker struct {
	out   io.Writer
	yes   bool // whatever is proposed is taken, and nobody is waited for
	echo  bool // the answers don't show by themselves
	lines chan string
	gone  bool // nobody answers any more
}

// errNoAnswer says that nobody is there to answer.
var errNoAnswer = errors.New("there is no answer to that")

// newAsker reads answers from in as they are wanted. What waits for a line is
// left behind at the end: a terminal can't be told to stop.
func newAsker(in io.Reader, out io.Writer, yes bool) *asker {
	f, ok := in.(*os.File)
	q := &asker{out: out, yes: yes, echo: !ok || !term.IsTerminal(int(f.Fd())), lines: make(chan string)}
	if !yes {
		go q.read(in)
	}
	return q
}

func (q *asker) read(in io.Reader) {
	lines := bufio.NewScanner(in)
	for lines.Scan() {
		q.lines <- lines.Text()
	}
	close(q.lines)
}

// ask gives the answer, or what is proposed where it is blank. Without a person
// the proposal is taken; where there is none the error is errNoAnswer.
func (q *asker) ask(ctx context.Context, question, proposed string) (string, error) {
	if proposed != "" {
		question = fmt.Sprintf("%s [%s]", question, proposed)
	}
	switch {
	case q.yes && proposed == "", q.gone:
		return "", errNoAnswer
	case q.yes:
		fmt.Fprintln(q.out, question, proposed)
		return proposed, nil
	}
	fmt.Fprintf(q.out, "%s ", question)
	select {
	case <-ctx.Done():
		fmt.Fprintln(q.out)
		return "", errInterrupted
	case line, more := <-q.lines:
		if !more {
			q.gone = true
			fmt.Fprintln(q.out, "- nobody answers here")
			return "", errNoAnswer
		}
		if line = strings.TrimSpace(line); line == "" {
			line = proposed
		}
		if q.echo {
			fmt.Fprintln(q.out, line)
		}
		return line, nil
	}
}

// askUntil asks till an answer is taken; take says what is wrong with one.
func (q *asker) askUntil(ctx context.Context, question, proposed string, take func(answer string) error) error {
	for {
		answer, err := q.ask(ctx, question, proposed)
		if err != nil {
			return err
		}
		if err = take(answer); err == nil || q.yes {
			return err
		}
		fmt.Fprintln(q.out, err)
	}
}

// yesNo asks for yes or no, of which none is proposed; known is false where neither is
// given.
func (q *asker) yesNo(ctx context.Context, question string) (yes, known bool, err error) {
	err = q.askUntil(ctx, question+" [y/n]", "", func(answer string) error {
		switch strings.ToLower(answer) {
		case "y", "yes":
			yes, known = true, true
		case "n", "no":
			known = true
		case "":
		default:
			return fmt.Errorf("  %q is neither; type y or n", answer)
		}
		return nil
	})
	return yes, known, err
}
