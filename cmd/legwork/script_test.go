package main

import (
	"fmt"
	"io"
	"net"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/stretchr/testify/require"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"legwork": main})
}

// The scripts are the specification of the command.
func TestScripts(t *testing.T) {
	files, err := filepath.Glob("testdata/script/*.txt*")
	require.NoError(t, err)
	if testing.Short() {
		files = slices.DeleteFunc(files, func(file string) bool { return !slices.Contains(meeting, base(file)) })
		require.Len(t, files, len(meeting))
	}
	testscript.Run(t, testscript.Params{
		Files: files,
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"status": status_, "hostile": hostile,
			"append": appendTo, "swap": swap, "sheet": sheetOf, "list": meterList,
			"simulate": simulate, "certificates": certificates, "crlf": crlf, "interrupted": interrupted},
		Setup: func(e *testscript.Env) error { e.Setenv("LANG", "C.UTF-8"); return nil },
	})
}

// meeting are the scripts in which goroutines meet: readers of wires, servers, live
// views, signals. The race detector is for these; the others go without it.
var meeting = []string{"badmeter", "desk", "find", "keep", "loadstep", "record", "save", "signals", "sim", "survey", "tcp", "tls",
	"watch", "wire"}

func base(file string) string {
	name, _, _ := strings.Cut(filepath.Base(file), ".")
	return name
}

// status_ runs legwork and checks its exit status: status N ARGS...
func status_(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: status N ARGS...")
	}
	err := ts.Exec("legwork", args[1:]...)
	got := 0
	if err != nil {
		var code interface{ ExitCode() int }
		var ok bool
		if code, ok = err.(interface{ ExitCode() int }); !ok {
			ts.Fatalf("%v", err)
		}
		got = code.ExitCode()
	}
	if fmt.Sprint(got) != args[0] {
		ts.Fatalf("exit status %d, not %s", got, args[0])
	}
}

// hostile serves one sort of nonsense and sets HOSTILE to its address.
func hostile(ts *testscript.TestScript, _ bool, args []string) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	ts.Check(err)
	ts.Defer(func() { _ = l.Close() })
	ts.Setenv("HOSTILE", l.Addr().String())
	go func() {
		for {
			conn, err := l.Accept()
			if err != nil {
				return
			}
			go answer(conn, args[0])
		}
	}()
}

func answer(conn net.Conn, how string) {
	defer conn.Close()
	request := make([]byte, 12)
	for {
		if _, err := io.ReadFull(conn, request); err != nil {
			return
		}
		t := request[:2]
		reply := map[string][]byte{
			"closes":      nil,
			"hangs":       {},
			"half":        {t[0], t[1], 0, 0, 0, 9, 1},
			"transaction": {t[0] ^ 1, t[1], 0, 0, 0, 5, 1, 3, 2, 0, 1},
			"unit":        {t[0], t[1], 0, 0, 0, 5, 9, 3, 2, 0, 1},
			"short":       {t[0], t[1], 0, 0, 0, 5, 1, 3, 2, 0, 1},
			"overlong":    {t[0], t[1], 0, 0, 0xFF, 0xFF, 1, 3, 2, 0, 1},
			"exception":   {t[0], t[1], 0, 0, 0, 3, 1, 0x83, 4},
			"text":        []byte("HTTP/1.1 400 Bad Request\r\n\r\n"),
		}[how]
		if reply == nil {
			return
		}
		_, _ = conn.Write(reply)
	}
}

// appendTo adds a text to a file: append FILE TEXT.
func appendTo(ts *testscript.TestScript, _ bool, args []string) {
	name := ts.MkAbs(args[0])
	ts.Check(os.WriteFile(name, []byte(ts.ReadFile(args[0])+args[1]), 0o600))
}

// swap puts a text in place of another: swap FILE OLD NEW.
func swap(ts *testscript.TestScript, _ bool, args []string) {
	text := ts.ReadFile(args[0])
	if !strings.Contains(text, args[1]) {
		ts.Fatalf("%s has no %s", args[0], args[1])
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(strings.ReplaceAll(text, args[1], args[2])), 0o600))
}

// crlf writes a text file anew as an editor on Windows does: crlf FROM TO.
func crlf(ts *testscript.TestScript, _ bool, args []string) {
	text := strings.ReplaceAll(ts.ReadFile(args[0]), "\n", "\r\n")
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), []byte("\uFEFF"+text), 0o600))
}

// sheetOf writes a job sheet that names a METER and nothing else: sheet FILE METER.
func sheetOf(ts *testscript.TestScript, _ bool, args []string) {
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), fmt.Appendf(nil, "legwork-job: 1\nmeter: %q\n", args[1]), 0o600))
}

// meterList writes a sites file of METERs: list FILE METER...
func meterList(ts *testscript.TestScript, _ bool, args []string) {
	text := "name,meter,map\n"
	for i, meter := range args[1:] {
		text += fmt.Sprintf("kiln%.*s,%s,%s\n", i, "abcdefgh", meter, map[bool]string{true: "sunspec"}[i > 0])
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(text), 0o600))
}
