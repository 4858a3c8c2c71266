package main

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"strings"

	"golang.org/x/term"
)

// questions asks a person, line by line, on standard error; on a terminal or from a
// pipe, which ends where the answers do.
type questions struct {
	app   *app
	lines chan string
	shown bool // what is typed is on the screen already
}

func (a *app) questions(ctx context.Context) *questions {
	in, ok := a.stdin.(*os.File)
	s := &questions{a, make(chan string), ok && term.IsTerminal(int(in.Fd()))}
	go func() {
		defer close(s.lines)
		for lines := bufio.NewScanner(a.stdin); lines.Scan(); {
			select {
			case s.lines <- lines.Text():
			case <-ctx.Done():
				return
			}
		}
	}()
	return s
}

// ask puts a question; ok is false where no more answers come.
func (s *questions) ask(ctx context.Context, question string) (answer string, ok bool, err error) {
	fmt.Fprint(s.app.stderr, question+" ")
	select {
	case <-ctx.Done():
		fmt.Fprintln(s.app.stderr)
		return "", false, errInterrupted
	case line, more := <-s.lines:
		line = strings.TrimSpace(line)
		if !s.shown || !more {
			fmt.Fprintln(s.app.stderr, line)
		}
		return line, more, nil
	}
}

// yes asks for yes or no; ok is false where no more answers come, or none is given.
func (s *questions) yes(ctx context.Context, question string) (yes, ok bool, err error) {
	for {
		answer, more, err := s.ask(ctx, question+" [y/n]")
		if err != nil || !more {
			return false, false, err
		}
		switch strings.ToLower(answer) {
		case "y", "yes":
			return true, true, nil
		case "n", "no":
			return false, true, nil
		case "":
			return false, false, nil
		}
		fmt.Fprintf(s.app.stderr, "  %q is neither; type y or n\n", answer)
	}
}
