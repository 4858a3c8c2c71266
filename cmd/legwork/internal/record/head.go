package record

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// head is the head file: how many entries were acknowledged, and the last seal.
type head struct {
	Version int    `json:"legwork-record-head"`
	Entries int    `json:"entries"`
	Seal    string `json:"seal"`
}

// HeadFile is the head file that stands beside a record.
func HeadFile(record string) string { return strings.TrimSuffix(record, ".jsonl") + ".head" }

var errHead = errors.New("the head file can't be read; it was changed")

// readHead gives nil where there is no head file; the error may be errHead.
func readHead(record string) (*head, error) {
	src, err := os.ReadFile(HeadFile(record))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	h := new(head)
	if err := json.Unmarshal(src, h); err != nil || h.Version < 1 || h.Entries < 1 {
		return nil, errHead
	}
	if h.Version > Version {
		return nil, fmt.Errorf("%s was written by a newer legwork; use that one, nothing was changed", HeadFile(record))
	}
	return h, nil
}

// writeHead puts a head in place of the one there, wholly and for good.
func writeHead(record string, h head) error {
	src, err := json.Marshal(h)
	if err != nil {
		return err
	}
	name := HeadFile(record)
	f, err := os.CreateTemp(filepath.Dir(name), ".legwork-*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	_, err = f.Write(append(src, '\n'))
	if err == nil {
		err = f.Sync()
	}
	if closed := f.Close(); err == nil {
		err = closed
	}
	if err == nil {
		err = os.Chmod(f.Name(), 0o644)
	}
	if err == nil {
		err = os.Rename(f.Name(), name)
	}
	if err == nil {
		syncFolder(name)
	}
	return err
}

// syncFolder makes a file's name last. Where a system can't do that to a folder
// (Windows), it does it by itself.
func syncFolder(file string) {
	if d, err := os.Open(filepath.Dir(file)); err == nil {
		_ = d.Sync()
		_ = d.Close()
	}
}
