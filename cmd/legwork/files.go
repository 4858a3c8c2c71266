package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"legwork/probe/sheet"
)

// writeWhole writes a file by way of a temporary one, so that it is there whole
// or not at all.
func writeWhole(name string, content []byte) error {
	f, err := os.CreateTemp(filepath.Dir(name), ".legwork-*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	_, err = f.Write(content)
	if closed := f.Close(); err == nil {
		err = closed
	}
	if err == nil {
		err = os.Chmod(f.Name(), 0o644)
	}
	if err != nil {
		return err
	}
	return os.Rename(f.Name(), name)
}

// writeNew writes a file that isn't there yet.
func writeNew(name string, content []byte) error {
	if _, err := os.Lstat(name); err == nil {
		return fmt.Errorf("%s: there is such a file already, and it is left alone; name a new one", name)
	}
	return writeWhole(name, content)
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
