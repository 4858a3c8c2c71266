package main

import (
	"cmp"
	"fmt"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"
)

// What a release says of itself; the linker sets both (.goreleaser.yaml). Another
// build says what Go put into it.
var (
	version = "0.1"
	commit  string
)

func (a *app) version() *cobra.Command {
	return &cobra.Command{
		Use:     "version",
		GroupID: "bench",
		Short:   "Say which legwork this is: version, commit, Go, platform",
		Args:    noArguments,
		RunE: func(*cobra.Command, []string) error {
			_, err := fmt.Fprintf(a.stdout, "legwork %s\ncommit %s\n%s %s/%s\n", version, builtFrom(),
				runtime.Version(), runtime.GOOS, runtime.GOARCH)
			return err
		},
	}
}

// builtFrom is the commit of the sources.
func builtFrom() string {
	if commit != "" {
		return commit
	}
	info, _ := debug.ReadBuildInfo()
	return vcsCommit(info)
}

// vcsCommit is the commit that Go found beside the sources, and whether they were
// changed since.
func vcsCommit(info *debug.BuildInfo) string {
	said := map[string]string{}
	if info != nil {
		for _, s := range info.Settings {
			said[s.Key] = s.Value
		}
	}
	text := cmp.Or(said["vcs.revision"], "not known: built without a repository's data")
	if said["vcs.modified"] == "true" {
		text += ", with changes"
	}
	return text
}
