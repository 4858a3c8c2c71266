package main

import "github.com/spf13/cobra"

func topics() []*cobra.Command { return nil }
