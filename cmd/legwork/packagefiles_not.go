//go:build !packaging

package main

import "github.com/spf13/cobra"

func (a *app) packageFiles() []*cobra.Command { return nil }
