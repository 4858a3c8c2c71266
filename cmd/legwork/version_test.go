package main

import (
	"runtime/debug"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestTheCommitThatGoFound(t *testing.T) {
	info := &debug.BuildInfo{Settings: []debug.BuildSetting{{Key: "vcs.revision", Value: "96e61d8"}}}
	require.Equal(t, "96e61d8", vcsCommit(info))
	info.Settings = append(info.Settings, debug.BuildSetting{Key: "vcs.modified", Value: "true"})
	require.Equal(t, "96e61d8, with changes", vcsCommit(info))
	require.Equal(t, "not known: built without a repository's data", vcsCommit(nil))
}
