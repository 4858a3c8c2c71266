package main

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/job"
)

func (a *app) jobCommand() *cobra.Command {
	return group("job", "before", "Make and check a job sheet: meter, map, service, CTs and people of one job",
		a.jobNew(), a.jobCheck())
}

func (a *app) jobNew() *cobra.Command {
	var o job.BlankOptions
	c := &cobra.Command{
		Use:     "new FILE.yaml",
		Short:   "Make a job sheet to fill in; a file that is there is left alone",
		Example: "legwork job new kiln.yaml --service 120/208Y --region canada",
		Args:    oneArgument("a FILE.yaml"),
		RunE:    func(c *cobra.Command, args []string) error { return a.runJobNew(args[0], o) },
	}
	c.Flags().StringVar(&o.Service, "service", "", "service `NAME`, such as 120/208Y")
	c.Flags().StringVar(&o.Region, "region", "", "whose colours of conductors: canada, iec, us or none; local code rules")
	c.Flags().StringVar(&o.Meter, "meter", "", "the `METER` of the job")
	c.Flags().StringVar(&o.Map, "map", "", "register map `FILE`, its path from the sheet")
	_ = c.RegisterFlagCompletionFunc("service", completeServices)
	_ = c.RegisterFlagCompletionFunc("region", cobra.FixedCompletions(job.Regions(), cobra.ShellCompDirectiveNoFileComp))
	return c
}

func (a *app) runJobNew(file string, o job.BlankOptions) error {
	if ext := strings.ToLower(filepath.Ext(file)); ext != ".yaml" && ext != ".yml" {
		return fmt.Errorf("%s: the name of a job sheet ends in .yaml", file)
	}
	src, err := job.Blank(o)
	if err != nil {
		return err
	}
	if err := writeNew(file, src); err != nil {
		return err
	}
	_, err = fmt.Fprintf(a.stdout, "%s is there to be filled in; then: legwork job check %s\n", file, file)
	return err
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
		wide := 0
		for _, l := range lacks {
			wide = max(wide, len(l.Name))
		}
		for _, l := range lacks {
			fmt.Fprintf(&b, "  %-*s  %s\n", wide, l.Name, l.For)
		}
	}
	_, err := io.WriteString(a.stdout, b.String())
	return err
}
