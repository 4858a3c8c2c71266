// Package job reads job sheets: YAML files that a person writes for one job,
// with the site, the panel, the meter and its register map, the CTs, the
// conductors' colours, the people, and what tests showed. A sheet stands for the
// METER that it names. It is strict: every fault of a file is told at once, with
// its place, by legwork/probe/sheet.
//
// The package reads sheets and makes blank ones; what was read and done at a job
// goes into a record (package record), never back into the sheet.
package job
