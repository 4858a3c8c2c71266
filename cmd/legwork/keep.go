package main

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/record"
	"legwork/cmd/legwork/internal/source"
)

// keepFlags name the job whose record a result joins.
type keepFlags struct{ sheet string }

func (k *keepFlags) addKeep(c *cobra.Command) {
	c.Flags().StringVar(&k.sheet, "keep", "", "add the result to the record of the job `JOB.yaml`, which also says what isn't given: METER, service, CTs")
	_ = c.MarkFlagFilename("keep", "yaml", "yml")
}

// meterOf is METER: the argument, or the job sheet of --keep; empty for neither.
func (k *keepFlags) meterOf(args []string) string {
	if len(args) > 0 {
		return args[0]
	}
	return k.sheet
}

// orKeep asks for one argument, which the job sheet of --keep may stand for.
func orKeep(what string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) == 0 && c.Flags().Changed("keep") {
			return nil
		}
		return oneArgument(what)(c, args)
	}
}

// keeping is an entry on its way into a job's record. A nil one keeps nothing.
type keeping struct {
	job    *job.Job
	before *record.Log
	entry  record.Entry // what is known of it so far

	meter *keeper // nil while no meter was opened
}

// keep begins an entry where --keep names a job.
func (a *app) keep(c *cobra.Command, f keepFlags) (*keeping, error) {
	if !c.Flags().Changed("keep") {
		return nil, nil
	}
	k, err := beginEntry(f.sheet)
	if err = a.explain(err); err != nil {
		var code status
		if !errors.As(err, &code) {
			err = fmt.Errorf("--keep %w", err)
		}
		return nil, err
	}
	k.entry.Typed = typed(c)
	return k, nil
}

// beginEntry loads a job's sheet and record. A record that was changed is
// refused here already: what a person is about to do couldn't be kept.
func beginEntry(file string) (*keeping, error) {
	j, before, err := openJob(file)
	if err != nil {
		return nil, err
	}
	if len(before.Findings) > 0 {
		return nil, fmt.Errorf("%s: %s; nothing was added: put the original back, or move record and head aside to begin another", j.RecordFile(), before.Findings[0])
	}
	return &keeping{job: j, before: before}, nil
}

// openJob loads a sheet and its record, which may be empty.
func openJob(file string) (*job.Job, *record.Log, error) {
	j, err := job.Load(file)
	if err != nil {
		return nil, nil, err
	}
	log, err := record.At(j.RecordFile()).Read()
	if errors.Is(err, record.ErrNone) {
		return j, &record.Log{}, nil
	}
	return j, log, err
}

// typed lists the flags that were given, but for those that say where the
// result goes.
func typed(c *cobra.Command) []record.Typed {
	var all []record.Typed
	c.Flags().Visit(func(f *pflag.Flag) {
		switch list, ok := f.Value.(pflag.SliceValue); {
		case f.Name == "keep" || f.Name == "format":
		case ok:
			for _, text := range list.GetSlice() {
				all = append(all, record.Typed{Flag: f.Name, Text: text})
			}
		default:
			all = append(all, record.Typed{Flag: f.Name, Text: f.Value.String()})
		}
	})
	return all
}

// sheet is the job's, or nil.
func (k *keeping) sheet() *job.Job {
	if k == nil {
		return nil
	}
	return k.job
}

// open opens a METER, with what the job sheet says of it; what is read is kept.
func (a *app) openKept(c *cobra.Command, meter string, m meterFlags, k *keeping) (source.Source, error) {
	if k != nil && m.Service == "" {
		m.Service = k.job.Service
	}
	s, err := a.open(c.Context(), c, meter, m)
	if err != nil || k == nil {
		return s, err
	}
	address, err := a.address(meter, &m)
	if err == nil {
		k.meter = &keeper{Source: s, name: meter, address: address, mapName: m.Map}
		err = k.readCapture(address)
	}
	if err != nil {
		_ = s.Close()
		return nil, err
	}
	return k.meter, nil
}

// read notes a file that the result is from.
func (k *keeping) read(name string, src []byte) {
	if k != nil {
		k.entry.Files = append(k.entry.Files, record.File{Name: name, SHA256: record.Seal(src)})
	}
}

// readCapture notes the file of a capture that the result is from.
func (k *keeping) readCapture(a source.Address) error {
	if k == nil || !isFile(a) {
		return nil
	}
	f, err := os.Open(a.Name)
	if err != nil {
		return err
	}
	defer f.Close()
	sum := sha256.New()
	if _, err := io.Copy(sum, f); err != nil {
		return err
	}
	k.entry.Files = append(k.entry.Files, record.File{Name: a.Name, SHA256: hex.EncodeToString(sum.Sum(nil))})
	return nil
}

func isFile(a source.Address) bool { return a.Kind == source.Capture && a.Name != "-" }

// kept says what became of an entry; the zero value is that of a command
// without --keep.
type kept struct {
	file string // of the record; empty where nothing was to be kept
	record.Appended
	cautions []string
	err      error
}

// add appends the entry: e, and what is known of it.
func (k *keeping) add(ctx context.Context, e record.Entry) kept {
	if k == nil {
		return kept{}
	}
	e.At, e.Typed, e.Files = time.Now(), k.entry.Typed, k.entry.Files
	e.Cautions = append(e.Cautions, k.entry.Cautions...)
	if k.meter != nil {
		k.meter.fill(ctx, &e, k.job)
	}
	e.Cautions = append(e.Cautions, cautionsOf(&e, k.before)...)
	out := kept{file: k.job.RecordFile(), cautions: e.Cautions}
	if out.err = stamp(&e, k.job); out.err == nil {
		out.Appended, out.err = record.At(out.file).Append(e)
	}
	return out
}

// tellKept says below a result where it is kept, or why it isn't. Beside JSON
// nothing else may stand on standard output.
func (a *app) tellKept(k kept, format string) error {
	switch {
	case k.file == "" || k.err != nil:
		return k.err
	case format == "text":
		fmt.Fprintln(a.stdout)
		return a.tellEntry(a.stdout, k)
	}
	return a.tellEntry(a.stderr, k)
}

// tellEntry gives an entry's number and seal.
func (a *app) tellEntry(out io.Writer, k kept) error {
	a.tellTorn(k.Appended)
	for _, c := range k.cautions {
		fmt.Fprintf(a.stderr, "note: %s\n", c)
	}
	_, err := fmt.Fprintf(out, "Recorded as entry %d of %s\nSeal %s\n", k.Number, k.file, k.Seal)
	return err
}
