package main

import (
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/files"
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
	if err := jobFormat.write(files.Output{Name: file}, src); err != nil {
		return err
	}
	_, err = fmt.Fprintf(a.stdout, "%s is there to be filled in; then: legwork job check %s\n", file, file)
	return err
}

func (a *app) jobCheck() *cobra.Command {
	return &cobra.Command{
		Use:     "check FILE.yaml",
		Short:   "Say what is wrong in a job sheet and in the files it names",
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
			_, err = fmt.Fprintf(a.stdout, "%s; nothing is wrong in it\n", j)
			return err
		},
	}
}
