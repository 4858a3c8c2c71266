package record

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"

	"legwork/cmd/legwork/internal/files"
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

func isHead(begins []byte) bool { return bytes.HasPrefix(begins, []byte(`{"legwork-record-head":`)) }

// writeHead puts a head in place of the one there, wholly and for good.
func writeHead(record string, h head) error {
	src, err := json.Marshal(h)
	if err != nil {
		return err
	}
	out := files.Output{Name: HeadFile(record), Kind: "a head file of legwork", Own: isHead}
	return out.Write(append(src, '\n'))
}
