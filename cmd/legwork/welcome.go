package main

import (
	"bufio"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"legwork/probe/link"
)

// adapters lists the serial ports that are likely to lead to a meter: those on
// USB. None is opened.
func adapters() ([]string, error) {
	all, err := link.Ports()
	if err != nil {
		return nil, fmt.Errorf("serial ports: %w", err)
	}
	var names []string
	for _, p := range all {
		if p.USB {
			names = append(names, p.Name)
		}
	}
	return names, nil
}

// welcome says what to do next on this machine: the job at hand, a meter on a
// wire that is plugged in, else the simulator.
func (a *app) welcome() error {
	var b strings.Builder
	b.WriteString("legwork says whether a meter's CTs and voltage inputs are wired right.\nIt only reads.\n")
	jobs := jobSheets(".")
	found, _ := adapters() // `legwork ports` says why there are none
	if len(jobs) > 0 {
		b.WriteString("\nA job sheet is here:\n")
		for _, j := range jobs {
			fmt.Fprintf(&b, "  legwork watch %s\n", j)
		}
	}
	if len(found) > 0 {
		b.WriteString("\nA serial adapter is plugged in; this finds the meter on it and writes the job sheet:\n")
		for _, p := range found {
			fmt.Fprintf(&b, "  legwork start %s\n", p)
		}
	}
	if len(jobs) == 0 {
		b.WriteString("\nA meter on the network, with a register map or without:\n" +
			"  legwork start HOST\n" +
			"  legwork start HOST --map MAP.yaml\n" +
			"\nNo meter at hand? A simulated one, with a CT the wrong way round:\n" +
			"  legwork diagnose sim:kiln-house --fault ct2-reversed\n" +
			"  legwork watch sim:kiln-house --fault ct2-reversed\n")
	}
	b.WriteString("\nBefore a panel is opened: legwork help safety.  Everything else: legwork --help\n")
	_, err := fmt.Fprint(a.stdout, b.String())
	return err
}

// mostSheets is how many job sheets are named.
const mostSheets = 5

// jobSheets finds the job sheets in a folder, the latest first.
func jobSheets(folder string) []string {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return nil
	}
	var found []fs.FileInfo
	for _, e := range entries {
		ext := strings.ToLower(filepath.Ext(e.Name()))
		if ext != ".yaml" && ext != ".yml" || !e.Type().IsRegular() || !isJobSheet(filepath.Join(folder, e.Name())) {
			continue
		}
		if info, err := e.Info(); err == nil {
			found = append(found, info)
		}
	}
	slices.SortStableFunc(found, func(a, b fs.FileInfo) int { return b.ModTime().Compare(a.ModTime()) })
	var names []string
	for _, info := range found[:min(len(found), mostSheets)] {
		names = append(names, info.Name())
	}
	return names
}

// isJobSheet reports a file that says of itself in its first lines that it is one.
func isJobSheet(name string) bool {
	f, err := os.Open(name)
	if err != nil {
		return false
	}
	defer f.Close()
	lines := bufio.NewScanner(f)
	for n := 0; n < 40 && lines.Scan(); n++ {
		if strings.HasPrefix(lines.Text(), "legwork-job:") {
			return true
		}
	}
	return false
}
