package record

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// frail is a file on a disk that takes so many bytes more.
type frail struct {
	file
	room       int
	stuck      bool // and won't be cut either, as a disk that is going
	syncsUntil int  // Sync fails from then on; below 0 never
}

func (f *frail) WriteAt(b []byte, at int64) (int, error) {
	if len(b) <= f.room {
		f.room -= len(b)
		return f.file.WriteAt(b, at)
	}
	n, _ := f.file.WriteAt(b[:f.room], at)
	f.room = 0
	return n, syscall.ENOSPC
}

func (f *frail) Truncate(size int64) error {
	if f.stuck {
		return syscall.EIO
	}
	return f.file.Truncate(size)
}

func (f *frail) Sync() error {
	if f.syncsUntil == 0 {
		return syscall.EIO
	}
	f.syncsUntil--
	return f.file.Sync()
}

func onFrail(path string, frail *frail) *Store {
	return &Store{path: path, open: func(path string) (file, error) {
		f, err := At(path).open(path)
		frail.file = f
		return frail, err
	}}
}

// Wherever the disk is full, an entry is added wholly or not at all, and the
// acknowledged ones stand.
func TestADiskThatIsFull(t *testing.T) {
	for _, stuck := range []bool{false, true} {
		path := begin(t, 2)
		whole := readFile(t, path)
		head := readFile(t, HeadFile(path))
		e := note("one that may not fit")
		line, err := e.line()
		require.NoError(t, err)
		most := len(line) + 100 // number and seal come with it
		added := false
		for room := 0; room < most && !added; room++ {
			require.NoError(t, os.WriteFile(path, whole, 0o600))
			require.NoError(t, os.WriteFile(HeadFile(path), head, 0o600))
			_, err := onFrail(path, &frail{room: room, stuck: stuck, syncsUntil: -1}).Append(e)
			if added = err == nil; added {
				break
			}
			require.ErrorIs(t, err, syscall.ENOSPC)
			require.ErrorContains(t, err, map[bool]string{true: "`legwork record show` says whether", false: "nothing was added"}[stuck])
			if !stuck {
				require.Equal(t, whole, readFile(t, path), "%d bytes of room", room)
			}
			log, err := At(path).Read()
			require.NoError(t, err)
			require.Empty(t, log.Findings)
			there := len(log.Entries) // the third too, where it lacks only its end
			a, err := At(path).Append(note("when there is room again"))
			require.NoError(t, err)
			require.Equal(t, there+1, a.Number)
			require.Equal(t, stuck && room > 0 && there == 2, a.Torn != "")
			require.True(t, bytes.HasPrefix(readFile(t, path), whole))
			require.Empty(t, findings(t, path))
			if a.Torn != "" {
				require.Len(t, readFile(t, a.Torn), room)
				require.NoError(t, os.Remove(a.Torn))
			}
		}
		require.True(t, added, "with room enough it is added")
	}
}

func TestADiskThatWontSynchronise(t *testing.T) {
	path := begin(t, 2)
	whole, head := readFile(t, path), readFile(t, HeadFile(path))
	_, err := onFrail(path, &frail{room: 1 << 20, syncsUntil: 0}).Append(note("more"))
	require.ErrorIs(t, err, syscall.EIO)
	require.Equal(t, whole, readFile(t, path))
	require.Equal(t, head, readFile(t, HeadFile(path)), "the head counts only what is on the disk")
}

// Power may go at any byte of a line: the next opening sets the rest aside.
func TestALineThatWasCutOff(t *testing.T) {
	path := begin(t, 3)
	whole, head := readFile(t, path), readFile(t, HeadFile(path))
	_, err := At(path).Append(note("the one that is cut"))
	require.NoError(t, err)
	longer := readFile(t, path)
	for cut := len(whole) + 1; cut < len(longer)-1; cut++ {
		require.NoError(t, os.WriteFile(path, longer[:cut], 0o600))
		require.NoError(t, os.WriteFile(HeadFile(path), head, 0o600))
		log, err := At(path).Read()
		require.NoError(t, err)
		require.Empty(t, log.Findings, "what was cut off was never acknowledged")
		require.Len(t, log.Entries, 3)
		require.Contains(t, fmt.Sprint(log.Remarks), "cut off before it was acknowledged")
		a, err := At(path).Append(note("the next"))
		require.NoError(t, err)
		require.Equal(t, longer[len(whole):cut], readFile(t, a.Torn))
		require.Equal(t, 4, a.Number)
		require.Empty(t, findings(t, path))
		require.NoError(t, os.Remove(a.Torn))
	}
}

func TestWhatIsSetAsideNeverGoesOverAnother(t *testing.T) {
	path := begin(t, 1)
	var kept []string
	for i := range 3 {
		f, err := os.OpenFile(path, os.O_APPEND|os.O_WRONLY, 0o600)
		require.NoError(t, err)
		_, err = fmt.Fprintf(f, "{\"cut\":%d", i)
		require.NoError(t, err)
		require.NoError(t, f.Close())
		a, err := At(path).Append(note("next"))
		require.NoError(t, err)
		kept = append(kept, filepath.Base(a.Torn))
		require.Equal(t, fmt.Sprintf("{\"cut\":%d", i), string(readFile(t, a.Torn)))
	}
	require.Equal(t, []string{"kiln.record.torn", "kiln.record.2.torn", "kiln.record.3.torn"}, kept)
}

// Some file systems fill a file with zeros when the power goes; a page may be
// there when the one before it isn't.
func TestALineOfZeros(t *testing.T) {
	for name, tail := range map[string]string{"without an end": strings.Repeat("\x00", 600),
		"with an end": strings.Repeat("\x00", 600) + "rest\"}\n"} {
		path := begin(t, 2)
		require.NoError(t, os.WriteFile(path, append(readFile(t, path), tail...), 0o600))
		require.Empty(t, findings(t, path), name)
		a, err := At(path).Append(note("next"))
		require.NoError(t, err, name)
		require.Equal(t, tail, string(readFile(t, a.Torn)), name)
		require.Equal(t, 3, a.Number)
	}
}

// An acknowledged entry whose line lost only its end (an editor does that) stays.
func TestALastLineWithoutItsEnd(t *testing.T) {
	path := begin(t, 2)
	whole := readFile(t, path)
	require.NoError(t, os.WriteFile(path, bytes.TrimSuffix(whole, []byte("\n")), 0o600))
	require.Empty(t, findings(t, path))
	a, err := At(path).Append(note("next"))
	require.NoError(t, err)
	require.Empty(t, a.Torn)
	require.Equal(t, 3, a.Number)
	require.True(t, bytes.HasPrefix(readFile(t, path), whole))
	require.Empty(t, findings(t, path))
}

// The same, before the head knew it, or without a head: a whole last line counts,
// and the next note doesn't drop it.
func TestAWholeLastLineWithoutItsEndIsNeverDropped(t *testing.T) {
	for name, spoil := range map[string]func(path string, before []byte) error{
		"the head is one behind": func(path string, before []byte) error { return os.WriteFile(HeadFile(path), before, 0o600) },
		"no head":                func(path string, _ []byte) error { return os.Remove(HeadFile(path)) },
	} {
		path := begin(t, 2)
		before := readFile(t, HeadFile(path))
		_, err := At(path).Append(note("third"))
		require.NoError(t, err)
		whole := readFile(t, path)
		require.NoError(t, os.WriteFile(path, bytes.TrimSuffix(whole, []byte("\n")), 0o600))
		require.NoError(t, spoil(path, before))
		log, err := At(path).Read()
		require.NoError(t, err)
		require.Len(t, log.Entries, 3, name)
		require.Empty(t, log.Findings, name)
		a, err := At(path).Append(note("fourth"))
		require.NoError(t, err)
		require.Equal(t, 4, a.Number, name)
		require.Empty(t, a.Torn, name)
		require.True(t, bytes.HasPrefix(readFile(t, path), whole), name)
	}
}

// The power may go between the line and the head: the entry counts, and the
// next one brings the head up.
func TestALineThatTheHeadDoesntKnowYet(t *testing.T) {
	path := begin(t, 2)
	head := readFile(t, HeadFile(path))
	_, err := At(path).Append(note("third"))
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(HeadFile(path), head, 0o600))
	log, err := At(path).Read()
	require.NoError(t, err)
	require.Empty(t, log.Findings)
	require.Contains(t, fmt.Sprint(log.Remarks), "entry 3 fits the chain, and the head file doesn't know it yet")
	whole := readFile(t, path)
	_, err = onFrail(path, &frail{room: 50, stuck: true, syncsUntil: -1}).Append(note("fourth, cut off"))
	require.Error(t, err)
	require.Equal(t, whole, readFile(t, path)[:len(whole)])
	a, err := At(path).Append(note("fourth"))
	require.NoError(t, err)
	require.Equal(t, 4, a.Number)
	require.NotEmpty(t, a.Torn)
	require.Empty(t, findings(t, path))
}

func TestAFolderThatCantBeWritten(t *testing.T) {
	path := filepath.Join(t.TempDir(), "none", "kiln.record.jsonl")
	_, err := At(path).Append(note("more"))
	require.ErrorIs(t, err, os.ErrNotExist)
	require.Equal(t, 1, strings.Count(err.Error(), path), err.Error())
}

// Entries that several programs add at once are in the order of their times: no clock was set.
func TestEntriesAtOnceAreInTheOrderOfTheirTimes(t *testing.T) {
	path := begin(t, 1)
	var all sync.WaitGroup
	for i := range 16 {
		all.Go(func() {
			e := note(fmt.Sprintf("by program %d", i))
			e.At = time.Time{}
			_, err := At(path).Append(e)
			assert.NoError(t, err)
		})
	}
	all.Wait()
	log, err := At(path).Read()
	require.NoError(t, err)
	require.Len(t, log.Entries, 17)
	for _, e := range log.Entries {
		require.False(t, e.At.IsZero())
	}
	require.Empty(t, log.Remarks)
}

func TestErrorsAreOneLine(t *testing.T) {
	s := At("kiln.record.jsonl")
	err := s.fail(&os.PathError{Op: "open", Path: "kiln.record.jsonl", Err: errors.New("no")})
	require.EqualError(t, err, "kiln.record.jsonl: no")

	path := begin(t, 1)
	_, err = onFrail(path, &frail{}).Append(note("more"))
	require.EqualError(t, err, path+": no space left on device; nothing was added")
}
