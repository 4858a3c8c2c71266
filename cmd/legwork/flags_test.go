package main

import (
	"bytes"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"github.com/stretchr/testify/require"
)

// What help shows as the default of a flag can be given, and a person who gives
// it changes nothing.
func TestEveryDefaultCanBeGiven(t *testing.T) {
	root := (&app{stdin: strings.NewReader(""), stdout: &bytes.Buffer{}, stderr: &bytes.Buffer{}}).root()
	n := 0
	var walk func(c *cobra.Command)
	walk = func(c *cobra.Command) {
		c.Flags().VisitAll(func(f *pflag.Flag) {
			if f.DefValue == "" || f.Value.Type() == "stringArray" {
				return
			}
			n++
			require.NoError(t, f.Value.Set(f.DefValue), "%s --%s", c.CommandPath(), f.Name)
			require.Equal(t, f.DefValue, f.Value.String(), "%s --%s", c.CommandPath(), f.Name)
		})
		for _, below := range c.Commands() {
			walk(below)
		}
	}
	walk(root)
	require.Greater(t, n, 100)
}

// A value that can't be taken is refused before anything is opened: one line, on
// standard error, with the flag first, and exit status 2.
func TestWrongValuesAreRefused(t *testing.T) {
	for line, want := range map[string]string{
		"diagnose none --samples -1":                "--samples -1: take at least 1",
		"diagnose none --samples many":              `--samples "many" is not a whole number`,
		"diagnose none --interval soon":             `--interval "soon" is not a time`,
		"diagnose none --min-current 0":             "--min-current 0 is not a current above 0, in A",
		"diagnose none --service 120/280Y":          `--service "120/280Y" is not a service`,
		"diagnose none --seen hum":                  `--seen "hum" is not understood`,
		"read none --every -1s":                     "--every -1s is below zero",
		"read none --unit 248":                      `--unit: unit "248" is not from 1 to 247`,
		"ledger none --gap 0s":                      "--gap 0s is not above zero",
		"pulses none --multiplier 0.5":              "--multiplier 0.5 is not a ratio from 1 up",
		"pulses none --timing 2m":                   "--timing 2m0s is not a time above 0 and up to a minute",
		"energy none --ct 200/7":                    `--ct "200/7" is not a rating`,
		"phasetest --for roof":                      `--for "roof" is not mains or branch`,
		"record verify none --seal 12":              `--seal "12" is not 8 or more hexadecimal digits`,
		"record note none --test hum":               `other words go into --remark`,
		"clamp none --accuracy lots":                `--accuracy "lots" is not an accuracy`,
		"find none --units 0":                       `--units "0": write units from 1 to 247`,
		"energy none --registered 1kWh --pf 1.2":    `--pf "1.2" is not a power factor`,
		"energy none --registered 1 --sequence BCA": `--registered "1": say the unit`,
	} {
		var out, errs bytes.Buffer
		code := run(strings.Fields(line), strings.NewReader(""), &out, &errs)
		require.Equal(t, exitWrong, code, line)
		require.Empty(t, out.String(), line)
		require.Contains(t, errs.String(), want, line)
		require.Equal(t, 1, strings.Count(errs.String(), "\n"), errs.String())
		require.True(t, strings.HasPrefix(errs.String(), "--"), errs.String())
	}
}
