package main

import (
	"errors"
	"fmt"
	"os"
	"strings"

	"legwork/cmd/legwork/internal/files"
	"legwork/probe/sheet"
)

// writeNew writes a file that isn't there yet.
func writeNew(name string, content []byte) error {
	if _, err := os.Lstat(name); err == nil {
		return fmt.Errorf("%s: there is such a file already, and it is left alone; name a new one", name)
	}
	return files.WriteWhole(name, content)
}

// explain writes every fault of a file with its line, and ends the command;
// another error passes.
func (a *app) explain(err error) error {
	var faults *sheet.Faults
	if !errors.As(err, &faults) {
		return err
	}
	for _, one := range faults.List {
		fmt.Fprintln(a.stderr, one.Error())
		if one.Snippet != "" {
			fmt.Fprintln(a.stderr, "    "+strings.ReplaceAll(one.Snippet, "\n", "\n    "))
		}
	}
	return status(exitWrong)
}
