package regmap

import (
	"bytes"
	"cmp"
	"fmt"
	"strings"
	"text/template"
)

// BlankOptions fill some of a new map in. The zero value is useful.
type BlankOptions struct {
	Channels int // 0 is 3
	Unit     int // 0 is 1
	Meter    string
}

// Blank makes the text of a map to fill in: the registers of voltage, current
// and power of each channel, and of what else a meter may have, behind a mark of
// comment. Parse says what is still blank in it.
func Blank(o BlankOptions) []byte {
	var b bytes.Buffer
	o.Channels, o.Unit = cmp.Or(o.Channels, 3), cmp.Or(o.Unit, 1)
	var channels []int
	for k := range o.Channels {
		channels = append(channels, k+1)
	}
	_ = blank.Execute(&b, struct {
		BlankOptions
		Version int
		Each    []int
	}{o, Version, channels}) // a buffer takes all, and the template is tested
	return b.Bytes()
}

var blank = template.Must(template.New("map").Funcs(template.FuncMap{
	"quote": func(s string) string { return "'" + strings.ReplaceAll(s, "'", "''") + "'" },
	"pad":   func(s string) string { return fmt.Sprintf("%-24s", s) },
}).Parse(`legwork-map: {{.Version}}
# A register map to fill in, from the meter's list of registers: write the first register of each value after
# ` + "`at:`" + `, and mend the type and the unit; take out what the meter doesn't have.
#   legwork map check THIS FILE         says what is still blank, and how it will be read
#   legwork map check THIS FILE METER   shows what stands in the registers
{{pad (printf "meter: %s" (quote .Meter))}}# what people call it
{{pad (printf "unit: %d" .Unit)}}# unit identifier, unless METER names one
table: holding          # holding (function 03) or input (function 04)
numbering: address      # address: from 0 as on the wire; reference: 40001, 30001 and so on
order: ABCD             # bytes of values over 16 bits: ABCD, CDAB, BADC, DCBA
# type: u16 s16 u32 s32 u64 s64 f32 f64, or text with a length in registers
# unit: an SI unit with its prefix; scale: what one step of the register is worth, such as 0.1
points:
  # What is wanted: voltage and current of a channel, and with them power, angle or pf.
{{range .Each}}  voltage.{{.}}: {at: , type: f32, unit: V}     # input {{.}} to neutral
  current.{{.}}: {at: , type: f32, unit: A}
  power.{{.}}:   {at: , type: f32, unit: kW}    # ` + "`positive: export`" + ` where the meter has it the other way round
{{end}}  # What helps, where the meter has it: take the mark away.
{{range .Each}}  # reactive.{{.}}: {at: , type: f32, unit: kvar}   # ` + "`positive: lead`" + ` where the meter has it the other way round
{{end}}  # frequency: {at: , type: f32}
  # total_power: {at: , type: f32, unit: kW}
  # total_energy_import: {at: , type: u32, unit: kWh, scale: 0.1}
  # ct_primary: {at: , type: u16, unit: A}       # the rating that is set in the meter
  # serial: {at: , type: text, length: 8}
`))
