package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"os"
	"time"

	"legwork/cmd/legwork/internal/files"
	"legwork/cmd/legwork/internal/source"
	"legwork/probe/learn/image"
)

// registersKept is a file of registers as they were read, for a session that goes
// on. It begins with registersMark.
type registersKept struct {
	Legwork int          `json:"legwork-registers"`
	Meter   string       `json:"meter"`
	Image   *image.Image `json:"image"`
}

var registersMark = []byte(`{"legwork-registers":`)

// registersHold is how long registers that were read may stand for what an
// instrument shows now; our choice.
const registersHold = time.Hour

var errNoRegisters = errors.New("no registers that can be gone on with")

func saveRegisters(name, meter string, im *image.Image) error {
	src, err := json.Marshal(registersKept{1, meter, im})
	if err != nil {
		return err
	}
	own := func(begins []byte) bool { return bytes.HasPrefix(begins, registersMark) }
	return files.Output{Name: name, Kind: "a file of registers of legwork", Own: own}.Write(src)
}

func loadRegisters(name, meter string, now time.Time) (*image.Image, error) {
	src, err := source.ReadFile(name)
	if err != nil {
		return nil, err
	}
	var kept registersKept
	if err := json.Unmarshal(src, &kept); err != nil {
		return nil, err
	}
	if kept.Legwork != 1 || kept.Meter != meter || !sound(kept.Image) || now.Sub(kept.Image.Times[0]) > registersHold {
		return nil, errNoRegisters
	}
	return kept.Image, nil
}

// sound reports an image of which every block has as many registers each time.
func sound(im *image.Image) bool {
	if im == nil || len(im.Times) == 0 {
		return false
	}
	for _, b := range im.Blocks {
		if len(b.Rounds) != len(im.Times) {
			return false
		}
		for _, r := range b.Rounds {
			if len(r) != len(b.Rounds[0]) || b.At < 0 || b.At+len(r) > 1<<16 {
				return false
			}
		}
	}
	return true
}

// forgetRegisters takes such a file away; another one of its name stays.
func forgetRegisters(name string) {
	if src, err := source.ReadFile(name); err == nil && bytes.HasPrefix(src, registersMark) {
		_ = os.Remove(name)
	}
}
