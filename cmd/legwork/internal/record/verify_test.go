package record

import (
	"bytes"
	"fmt"
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// rewrite changes the lines of a record as someone with an editor would.
func rewrite(t *testing.T, path string, change func([][]byte) [][]byte) {
	t.Helper()
	lines := bytes.SplitAfter(readFile(t, path), []byte("\n"))
	lines = change(lines[:len(lines)-1])
	require.NoError(t, os.WriteFile(path, bytes.Join(lines, nil), 0o600))
}

func edit(lines [][]byte, number int) {
	lines[number-1] = bytes.Replace(lines[number-1], []byte("words of"), []byte("other words of"), 1)
}

func TestARecordThatWasntChanged(t *testing.T) {
	path := begin(t, 5)
	require.Empty(t, findings(t, path))
	log, err := At(path).Read()
	require.NoError(t, err)
	require.Empty(t, log.Remarks)
	require.Nil(t, log.Entries[0].Previous)
	for i := 1; i < 5; i++ {
		require.Equal(t, log.Entries[i-1].Seal, *log.Entries[i].Previous)
		require.Equal(t, i+1, log.Entries[i].Number)
	}
}

// Each kind of tampering with a record of five entries, and what is said of it.
func TestWhatWasChangedIsNamed(t *testing.T) {
	for name, c := range map[string]struct {
		change func([][]byte) [][]byte
		want   []string
	}{
		"first edited":  {func(l [][]byte) [][]byte { edit(l, 1); return l }, []string{"entry 1 was edited (line 1)"}},
		"middle edited": {func(l [][]byte) [][]byte { edit(l, 3); return l }, []string{"entry 3 was edited (line 3)"}},
		"last edited":   {func(l [][]byte) [][]byte { edit(l, 5); return l }, []string{"entry 5 was edited (line 5)"}},
		"two edited": {func(l [][]byte) [][]byte { edit(l, 2); edit(l, 4); return l },
			[]string{"entry 4 was edited (line 4)", "entry 2 was edited (line 2)"}},
		"neighbours edited": {func(l [][]byte) [][]byte { edit(l, 2); edit(l, 3); return l },
			[]string{"entry 3 was edited (line 3)", "entry 2 was edited (line 2)"}},
		"a blank added within": {func(l [][]byte) [][]byte { l[2] = append([]byte(" "), l[2]...); return l },
			[]string{"entry 3 was edited (line 3)"}},
		"made unreadable": {func(l [][]byte) [][]byte { l[2] = []byte("gone\n"); return l },
			[]string{"entry 3 was edited: line 3 can't be read, it is no line of JSON"}},
		"first removed":  {func(l [][]byte) [][]byte { return l[1:] }, []string{"entry 1 is missing"}},
		"middle removed": {func(l [][]byte) [][]byte { return slices.Delete(l, 2, 3) }, []string{"entry 3 is missing"}},
		"two removed": {func(l [][]byte) [][]byte { return slices.Delete(l, 1, 3) },
			[]string{"entries 2 to 3 are missing"}},
		"last removed":        {func(l [][]byte) [][]byte { return l[:4] }, []string{"entry 5 is missing"}},
		"all but one removed": {func(l [][]byte) [][]byte { return l[:1] }, []string{"entries 2 to 5 are missing"}},
		"emptied":             {func(l [][]byte) [][]byte { return nil }, []string{"entries 1 to 5 are missing"}},
		"reordered": {func(l [][]byte) [][]byte { l[1], l[2] = l[2], l[1]; return l },
			[]string{"entry 2 stands out of order, on line 3"}},
		"last goes first": {func(l [][]byte) [][]byte { return slices.Insert(l[:4:4], 0, l[4]) },
			[]string{"out of order"}},
		"one stands twice": {func(l [][]byte) [][]byte { return slices.Insert(l, 3, l[2]) },
			[]string{"line 4 was inserted: it calls itself entry 3, and the chain doesn't know it"}},
		"a forged one inserted": {func(l [][]byte) [][]byte {
			forged := bytes.Replace(bytes.Clone(l[2]), []byte("words of"), []byte("forged words of"), 1)
			return slices.Insert(l, 2, forged)
		}, []string{"line 3 was inserted: it calls itself entry 3, and the chain doesn't know it"}},
		"a forged one at the end, chained rightly": {func(l [][]byte) [][]byte {
			for range 2 {
				last := bytes.TrimSuffix(l[len(l)-1], []byte("\n"))
				e := note("forged")
				seal := Seal(last)
				e.Version, e.Number, e.Previous = Version, len(l)+1, &seal
				b, _ := e.line()
				l = append(l, append(b, '\n'))
			}
			return l
		}, []string{"entries up to 7 stand in the record, and the head file knows 5: they were inserted"}},
		"a line of something else": {func(l [][]byte) [][]byte { return slices.Insert(l, 2, []byte("{\"at\":1}\n")) },
			[]string{"line 3 is no entry: it doesn't say legwork-record"}},
		"a blank line": {func(l [][]byte) [][]byte { return slices.Insert(l, 2, []byte("\n")) },
			[]string{"line 3 is no entry"}},
	} {
		t.Run(name, func(t *testing.T) {
			path := begin(t, 5)
			rewrite(t, path, c.change)
			got := findings(t, path)
			require.NotEmpty(t, got)
			for i, want := range c.want {
				require.Contains(t, fmt.Sprint(got), want)
				if name != "last goes first" && name != "a forged one at the end, chained rightly" {
					require.Len(t, got, len(c.want), "%v", got)
					require.Contains(t, got[i], want)
				}
			}
			before := readFile(t, path)
			_, err := At(path).Append(note("more"))
			require.ErrorContains(t, err, "nothing was added")
			require.Equal(t, before, readFile(t, path), "a record that was changed is left as it is")
		})
	}
}

func TestTheHeadFile(t *testing.T) {
	path := begin(t, 3)
	require.NoError(t, os.Remove(HeadFile(path)))
	log, err := At(path).Read()
	require.NoError(t, err)
	require.Empty(t, log.Findings)
	require.Contains(t, fmt.Sprint(log.Remarks), "no head file")
	_, err = At(path).Append(note("more"))
	require.NoError(t, err)
	require.FileExists(t, HeadFile(path), "the next entry makes it anew")

	require.NoError(t, os.WriteFile(HeadFile(path), []byte("gone"), 0o600))
	require.Equal(t, []string{errHead.Error()}, findings(t, path))
	_, err = At(path).Append(note("more"))
	require.ErrorIs(t, err, errHead)
}

// A head without its record isn't a record that was never begun.
func TestARecordThatIsGone(t *testing.T) {
	path := begin(t, 3)
	require.NoError(t, os.Remove(path))
	require.Equal(t, []string{"the record is missing, and its head file counts entries up to 3"}, findings(t, path))
	require.NoFileExists(t, path)
	require.NoError(t, os.WriteFile(HeadFile(path), []byte("gone"), 0o600))
	require.Contains(t, findings(t, path)[0], "the record is missing, and the head file of one is there, which can't be read")
	require.NoError(t, os.Remove(HeadFile(path)))
	_, err := At(path).Read()
	require.ErrorIs(t, err, ErrNone)
}

// A count or a seal of the head that was changed is a change of the record.
func TestAHeadWhoseCountWasChanged(t *testing.T) {
	for _, count := range []int{1, 2, 4, 9} {
		path := begin(t, 3)
		h, err := readHead(path)
		require.NoError(t, err)
		require.NoError(t, writeHead(path, head{Version, count, h.Seal}))
		require.Equal(t, []string{fmt.Sprintf("the head file was changed: it counts %d, and its seal is that of entry 3", count)},
			findings(t, path))
		_, err = At(path).Append(note("more"))
		require.ErrorAs(t, err, new(Changed))
	}
}

func TestOtherVersions(t *testing.T) {
	path := begin(t, 2)
	rewrite(t, path, func(l [][]byte) [][]byte {
		l[1] = bytes.Replace(l[1], []byte(`"legwork-record":1`), []byte(`"legwork-record":2`), 1)
		return l
	})
	before := readFile(t, path)
	for _, act := range []func() error{
		func() error { _, err := At(path).Read(); return err },
		func() error { _, err := At(path).Append(note("more")); return err },
	} {
		err := act()
		require.ErrorAs(t, err, new(Newer))
		require.ErrorContains(t, err, "line 2 was written by a newer legwork (version 2")
	}
	require.Equal(t, before, readFile(t, path))

	rewrite(t, path, func(l [][]byte) [][]byte {
		l[1] = bytes.Replace(l[1], []byte(`"legwork-record":2`), []byte(`"legwork-record":0`), 1)
		return l
	})
	require.Contains(t, fmt.Sprint(findings(t, path)), "version 0 of the record's format is not known")
}

func TestWhatIsNoRecord(t *testing.T) {
	path := t.TempDir() + "/capture.jsonl"
	_, err := At(path).Read()
	require.ErrorIs(t, err, ErrNone)
	require.NoError(t, os.WriteFile(path, []byte("{\"at\":\"2026-05-04T09:30:00Z\",\"channels\":[{}]}\n"), 0o600))
	before := readFile(t, path)
	_, err = At(path).Read()
	require.ErrorContains(t, err, "this is no record of legwork: it doesn't say legwork-record")
	_, err = At(path).Append(note("more"))
	require.ErrorContains(t, err, "nothing was added")
	require.Equal(t, before, readFile(t, path))
}

// What holds no entry is no record, ended or not, and nothing is added to it.
func TestAFileThatIsNoRecord(t *testing.T) {
	for name, src := range map[string]string{"words": "milk, bread", "words and an end": "milk, bread\n",
		"cut JSON": `{"at":"2026-05-04T09:30:00Z","channels":[`, "blank lines": "\n\n", "two lines": "a\nb"} {
		path := t.TempDir() + "/kiln.record.jsonl"
		require.NoError(t, os.WriteFile(path, []byte(src), 0o600))
		_, err := At(path).Read()
		require.ErrorContains(t, err, "this is no record of legwork", name)
		_, err = At(path).Append(note("more"))
		require.ErrorContains(t, err, "nothing was added: move it aside", name)
		require.Equal(t, src, string(readFile(t, path)), name)
	}
}

// Any change of any one byte of a record is found.
func TestNoByteCanBeChangedUnseen(t *testing.T) {
	path := begin(t, 4)
	whole := readFile(t, path)
	rapid.Check(t, func(r *rapid.T) {
		b := bytes.Clone(whole)
		at := rapid.IntRange(0, len(b)-1).Draw(r, "at")
		to := rapid.Byte().Draw(r, "to")
		if b[at] == to {
			return
		}
		b[at] = to
		if err := os.WriteFile(path, b, 0o600); err != nil {
			r.Fatal(err)
		}
		log, err := At(path).Read()
		if err == nil && len(log.Findings) == 0 {
			r.Fatalf("byte %d became %q, and nothing was said", at, to)
		}
	})
}

func FuzzTakeApart(f *testing.F) {
	f.Add([]byte("{\"legwork-record\":1,\"number\":1}\n{\"legwork-record\":1,\"number\":2,\"previous\":\"x\"}\n{"), 2, "x")
	f.Add([]byte("\n\n\x00\x00\n"), 1, "")
	f.Fuzz(func(t *testing.T, src []byte, entries int, seal string) {
		for _, h := range []*head{nil, {Version, max(entries, 1), seal}} {
			c, err := takeApart(src, h)
			if err != nil { // law 1: the only refusal is of a newer version
				require.ErrorAs(t, err, new(Newer))
				continue
			}
			if !c.unended { // law 2: whole lines and tail are the file
				require.Equal(t, len(src), c.whole+len(c.tail))
			}
			c.verify(h) // law 3: it ends, and never panics
		}
	})
}
