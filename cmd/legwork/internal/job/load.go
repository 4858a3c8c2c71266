package job

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"legwork/cmd/legwork/internal/source"
	"legwork/probe/sheet"
)

// Load reads the sheet of a file. Where the sheet itself is at fault the error
// is a *sheet.Faults.
func Load(file string) (*Job, error) {
	src, err := Source(file)
	if err != nil {
		return nil, err
	}
	return Parse(file, src)
}

// Source reads the bytes of a sheet; the error says how to make one.
func Source(file string) ([]byte, error) {
	f, err := os.Open(file)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%s: there is no such file; `legwork job new %s` makes one to fill in", file, file)
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file, source.Bare(err))
	}
	defer f.Close()
	src, err := io.ReadAll(io.LimitReader(f, sheet.MostBytes+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file, source.Bare(err))
	}
	return src, nil
}

// CheckFiles reads the register map that the job names, and reports what is
// wrong with it. The error may be a *sheet.Faults, of the map.
func (j *Job) CheckFiles() error {
	if j.Map == source.SunSpecMap {
		return nil
	}
	if j.Map != "" {
		_, err := source.LoadMap(j.Map)
		return err
	}
	if j.Meter.OnWire() { // one in short is asked whether it follows SunSpec
		return fmt.Errorf("%s: %s wants a register map; write its file after `map:`", j.File, j.meterWritten)
	}
	return nil
}
