package record

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// Fate is what became of a file that an entry is from.
type Fate string

// The fates. A file that only grew, as a capture does, has none.
const (
	Altered Fate = "altered"
	Gone    Fate = "gone"
	Unread  Fate = "unread" // it is there, and can't be read
)

// Cited is a file that an entry is from and that isn't as it was.
type Cited struct {
	Entry int    `json:"entry"`
	File  string `json:"file"`
	Fate  Fate   `json:"fate"`
	// Kept says that the entry holds what it took from the file: the proof stands.
	Kept bool `json:"kept"`
}

// String says it in a sentence.
func (c Cited) String() string {
	what := map[Fate]string{Altered: "was altered after entry %d was made from it (its SHA-256 is another one)",
		Gone: "isn't there any more; entry %d was made from it", Unread: "can't be read; entry %d was made from it"}[c.Fate]
	text := c.File + " " + fmt.Sprintf(what, c.Entry)
	if c.Kept {
		return text + ". The readings in the entry itself stand."
	}
	return text + ". The entry holds no copy: put the original back to prove it."
}

// Broken reports that an entry can't be proved any more: a file was altered, or
// one of which the entry holds no copy can't be had.
func (c Cited) Broken() bool { return c.Fate == Altered || !c.Kept }

// CheckFiles holds the files that entries cite against their hashes. Names are
// looked up as they are written, and then beside the record.
func (l *Log) CheckFiles(record string) {
	fates := map[File]Fate{}
	for _, e := range l.Entries {
		for _, f := range e.Files {
			fate, known := fates[f]
			if !known {
				fate = f.fate(filepath.Dir(record))
				fates[f] = fate
			}
			if fate != "" {
				l.Cited = append(l.Cited, Cited{e.Number, f.Name, fate, len(e.Readings) > 0})
			}
		}
	}
}

// fate is that of the best copy.
func (f File) fate(folder string) Fate {
	first := f.fateOf(f.Name)
	if first == "" || filepath.Dir(f.Name) == folder {
		return first
	}
	if beside := f.fateOf(filepath.Join(folder, filepath.Base(f.Name))); beside == "" || first == Gone {
		return beside
	}
	return first
}

func (f File) fateOf(name string) Fate {
	if info, err := os.Stat(name); errors.Is(err, fs.ErrNotExist) {
		return Gone
	} else if err != nil || !info.Mode().IsRegular() {
		return Unread
	}
	file, err := os.Open(name)
	if err != nil {
		return Unread
	}
	defer file.Close()
	if f.matches(file) {
		return ""
	}
	return Altered
}

// matches hashes the bytes that there were when the entry was made.
func (f File) matches(r io.Reader) bool {
	if f.Bytes > 0 {
		r = io.LimitReader(r, f.Bytes)
	}
	sum := sha256.New()
	_, err := io.Copy(sum, r)
	return err == nil && hex.EncodeToString(sum.Sum(nil)) == f.SHA256
}
