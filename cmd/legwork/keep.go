package main

import (
	"errors"
	"fmt"
	"io"
	"slices"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"legwork/cmd/legwork/internal/keep"
	"legwork/cmd/legwork/internal/record"
	"legwork/cmd/legwork/internal/source"
)

// keepFlags name the job whose record a result joins.
type keepFlags struct{ sheet string }

func (k *keepFlags) addKeep(c *cobra.Command) {
	c.Flags().StringVar(&k.sheet, "keep", "", "add the result to the record of the job `JOB.yaml`, "+
		"which also says what isn't given: METER, service, CTs")
	_ = c.MarkFlagFilename("keep", "yaml", "yml")
}

// meterOf is METER: the argument, or the job sheet of --keep; empty for neither.
func (k *keepFlags) meterOf(args []string) string {
	if len(args) > 0 {
		return args[0]
	}
	return k.sheet
}

// orKeep asks for one argument, which the job sheet of --keep may stand for, or one
// of some other flags.
func orKeep(what string, others ...string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) == 0 && slices.ContainsFunc(append(others, "keep"), c.Flags().Changed) {
			return nil
		}
		return oneArgument(what)(c, args)
	}
}

// keep begins an entry where --keep names a job.
func (a *app) keep(c *cobra.Command, f keepFlags) (*keep.Keeper, error) {
	if !c.Flags().Changed("keep") {
		return nil, nil
	}
	if f.sheet == "" {
		return nil, errors.New("--keep is empty; name a job sheet, such as --keep kiln.yaml")
	}
	k, err := keep.Begin(f.sheet, a.recordWait())
	if err = a.explain(err); err != nil {
		if !errors.As(err, new(status)) {
			err = fmt.Errorf("--keep %w", err)
		}
		return nil, err
	}
	k.Typed = typed(c)
	return k, nil
}

// recordWait waits for a record that another program holds, and says so.
func (a *app) recordWait() record.Wait { return waitSaying(a.stderr) }

func waitSaying(to io.Writer) record.Wait {
	return record.Wait{Say: func(text string) { fmt.Fprintln(to, text) }}
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

// openKept opens a METER, with what the job sheet says of it; what is read is kept.
func (a *app) openKept(c *cobra.Command, meter string, m meterFlags, k *keep.Keeper) (source.Source, error) {
	m.Service = k.ServiceOr(m.Service)
	s, err := a.open(c.Context(), c, meter, m)
	if err != nil || k == nil {
		return s, err
	}
	address, err := a.address(c, meter, &m)
	if err == nil {
		s, err = k.Source(s, keep.Origin{Meter: meter, Address: address, Map: m.Map})
	}
	if err != nil {
		_ = s.Close()
		return nil, err
	}
	return s, nil
}

// tellKept says below a result where it is kept, or why it isn't. Beside JSON
// nothing else may stand on standard output.
func (a *app) tellKept(k keep.Kept, format string) error {
	switch {
	case k.File == "" || k.Err != nil:
		return k.Err
	case format == "text":
		fmt.Fprintln(a.stdout)
		return a.tellEntry(a.stdout, k)
	}
	return a.tellEntry(a.stderr, k)
}

// tellEntry gives an entry's number and seal.
func (a *app) tellEntry(out io.Writer, k keep.Kept) error {
	a.tellTorn(k.Appended)
	for _, c := range k.Cautions {
		fmt.Fprintf(a.stderr, "note: %s\n", c)
	}
	_, err := fmt.Fprintf(out, "Recorded as entry %d of %s\nSeal %s\n", k.Number, k.File, k.Seal)
	return err
}

func (a *app) tellTorn(added record.Appended) {
	if added.Torn != "" {
		fmt.Fprintf(a.stderr, "note: a line that was cut off before it was acknowledged was taken off the record; "+
			"it is kept in %s\n", added.Torn)
	}
}
