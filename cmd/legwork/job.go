package main

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/files"
	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/screen"
	"legwork/cmd/legwork/internal/source"
)

func (a *app) jobCommand() *cobra.Command {
	return group("job", "before", "Make and check a job sheet: meter, map, service, CTs and people of one job",
		a.jobNew(), a.jobCheck())
}

// jobNewFlags say what is known of a job that begins.
type jobNewFlags struct {
	meterFlags
	region, meter, from string
}

func (a *app) jobNew() *cobra.Command {
	var f jobNewFlags
	c := &cobra.Command{
		Use:   "new FILE.yaml",
		Short: "Make a job sheet to fill in; a file that is there is left alone",
		Long: "Makes a job sheet to fill in. With --from it reads a METER, which may be in short, and fills\n" +
			"in what that tells: METER, map where it follows SunSpec, service by the voltages, rating of\n" +
			"the CTs, what the meter says of itself.",
		Example: "legwork job new kiln.yaml --service 120/208Y --region canada",
		Args:    oneArgument("a FILE.yaml"),
		RunE:    func(c *cobra.Command, args []string) error { return a.runJobNew(c, args[0], f) },
	}
	f.add(c)
	c.Flags().StringVar(&f.region, "region", "", "whose colours of conductors: canada, iec, us or none; local code rules")
	c.Flags().StringVar(&f.meter, "meter", "", "the `METER` of the job; nothing is asked of it")
	c.Flags().StringVar(&f.from, "from", "", "read a `METER`, and fill in what it tells")
	c.MarkFlagsMutuallyExclusive("meter", "from")
	complete(c, "region", job.Regions())
	return c
}

func (a *app) runJobNew(c *cobra.Command, file string, f jobNewFlags) error {
	if ext := strings.ToLower(filepath.Ext(file)); ext != ".yaml" && ext != ".yml" {
		return fmt.Errorf("%s: the name of a job sheet ends in .yaml", file)
	}
	o := job.BlankOptions{Service: f.Service, Region: f.region, Meter: f.meter, Map: f.Map}
	if f.from != "" {
		if err := mayBeNew(file); err != nil {
			return err
		}
		if err := a.fillFrom(c, &o, file, f); err != nil {
			return err
		}
	}
	src, err := job.Blank(o)
	if err != nil {
		return err
	}
	if err := jobFormat.write(files.Output{Name: file}, src); err != nil {
		return err
	}
	_, err = fmt.Fprintf(a.stdout, "%s is there to be filled in; then: legwork job check %s\n", file, file)
	return err
}

// fillFrom reads a meter, and fills in what it tells. The map's path counts from
// the sheet.
func (a *app) fillFrom(c *cobra.Command, o *job.BlankOptions, file string, f jobNewFlags) error {
	m := f.meterFlags
	if m.Map != "" && m.Map != source.SunSpecMap && !filepath.IsAbs(m.Map) {
		m.Map = filepath.Join(filepath.Dir(file), filepath.FromSlash(m.Map))
	}
	l, err := a.look(c, f.from, m)
	if err != nil {
		return err
	}
	l.into(o)
	return nil
}

// into fills in what a first look told.
func (l *looked) into(o *job.BlankOptions) {
	o.Meter, o.Service, o.ServiceBy, o.About = l.address.Text, l.service, l.by, l.about()
	if l.byMap == source.SunSpecMap {
		o.Map = l.byMap
	}
	o.CTPrimary, _ = l.reading.CTPrimary.Get()
}

// about is what a meter told of itself, in one line.
func (l *looked) about() string {
	var parts []string
	for _, one := range [][2]string{{"vendor", l.told.Vendor}, {"product", l.told.Product}, {"revision", l.told.Revision},
		{"model", l.reading.Model}, {"serial", l.reading.Serial}} {
		if one[1] != "" {
			parts = append(parts, one[0]+" "+one[1])
		}
	}
	if parts == nil {
		return ""
	}
	return "the meter says of itself: " + strings.Join(parts, ", ")
}

func (a *app) jobCheck() *cobra.Command {
	return &cobra.Command{
		Use:     "check FILE.yaml",
		Short:   "Say what is wrong in a job sheet and in the files it names, and what is still blank",
		Example: "legwork job check kiln.yaml",
		Args:    oneArgument("a FILE.yaml"),
		RunE: func(_ *cobra.Command, args []string) error {
			j, err := job.Load(args[0])
			if err == nil {
				err = j.CheckFiles()
			}
			if err != nil {
				return a.explain(err)
			}
			return a.tellSheet(j)
		},
	}
}

// tellSheet says that a sheet is in order, and what is blank in it and what for.
func (a *app) tellSheet(j *job.Job) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s; nothing is wrong in it\n", j)
	if lacks := j.Lacks(); len(lacks) > 0 {
		b.WriteString("Still blank, and what it is for:\n")
		for _, l := range lacks {
			fmt.Fprintf(&b, "  %-17s  %s\n", l.Name, l.For)
		}
	}
	_, err := io.WriteString(&screen.Guard{To: a.stdout, Columns: columnsOf(a.stdout)}, b.String())
	return err
}
