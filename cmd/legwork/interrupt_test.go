package main

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"os"
	"os/exec"
	"regexp"

	"github.com/rogpeppe/go-internal/testscript"
)

// interrupted runs legwork until one of its streams has a line that matches, then
// interrupts it and checks its exit status: interrupted STATUS REGEXP ARGS...
// What it printed on both goes to the file `printed`.
func interrupted(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 3 {
		ts.Fatalf("usage: interrupted STATUS REGEXP ARGS...")
	}
	self, err := os.Executable()
	ts.Check(err)
	cmd := exec.Command(self)
	cmd.Args = append([]string{"legwork"}, args[2:]...)
	cmd.Dir = ts.MkAbs(".")
	both, writer := io.Pipe()
	cmd.Stdout, cmd.Stderr = writer, writer
	ts.Check(cmd.Start())
	ended := make(chan error, 1)
	go func() {
		err := cmd.Wait()
		_ = writer.Close()
		ended <- err
	}()
	want := regexp.MustCompile(args[1])
	var printed bytes.Buffer
	lines := bufio.NewScanner(both)
	for sent := false; lines.Scan(); {
		printed.WriteString(lines.Text() + "\n")
		if !sent && want.MatchString(lines.Text()) {
			sent = true
			ts.Check(cmd.Process.Signal(os.Interrupt))
		}
	}
	<-ended
	ts.Check(os.WriteFile(ts.MkAbs("printed"), printed.Bytes(), 0o600))
	if got := fmt.Sprint(cmd.ProcessState.ExitCode()); got != args[0] {
		ts.Fatalf("exit status %s, not %s:\n%s", got, args[0], printed.String())
	}
}
