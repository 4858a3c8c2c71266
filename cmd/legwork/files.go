package main

import (
	"errors"
	"fmt"
	"os"
	"strings"

	"legwork/probe/sheet"
)

// mayBeNew refuses a file that is there, before anything is asked.
func mayBeNew(name string) error {
	if _, err := os.Lstat(name); err == nil {
		return fmt.Errorf("%s: there is such a file already, and it is left alone; name a new one", name)
	}
	return nil
}

// explain writes every fault of a file with its line, and ends the command;
// another error passes.
func (a *app) explain(err error) error {
	var faults *sheet.Faults
	if !errors.As(err, &faults) {
		return err
	}
	first, rest := faults.Told()
	for _, one := range first {
		fmt.Fprintln(a.stderr, one.Error())
		if one.Snippet != "" {
			fmt.Fprintln(a.stderr, "    "+strings.ReplaceAll(one.Snippet, "\n", "\n    "))
		}
	}
	if rest != "" {
		fmt.Fprintln(a.stderr, rest)
	}
	return status(exitWrong)
}
