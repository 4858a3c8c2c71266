package job

import (
	"bytes"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"text/template"

	"legwork/diagnose/wiring"
)

// BlankOptions fill some lines of a new sheet in. The zero value is useful.
type BlankOptions struct {
	Service string // a name that wiring.ParseService knows, or empty
	Region  string // one of Regions, or empty: taken from the service where that tells it
	Meter   string // METER
	Map     string

	Generation string // none or possible, or empty

	// What a meter told.
	About     string  // of itself, for a remark; may be empty
	ServiceBy string  // what the service is by, for a remark; may be empty
	CTPrimary float64 // A; 0 where it isn't known
}

// Blank makes the text of a sheet to fill in. The error names a service or a
// region that isn't known.
func Blank(o BlankOptions) ([]byte, error) {
	s, err := wiring.Service{}, error(nil)
	if o.Service != "" {
		if s, err = wiring.ParseService(o.Service); err != nil {
			return nil, err
		}
	}
	code, err := codeOf(o.Region, s)
	if err != nil {
		return nil, err
	}
	legs := 3
	if s.Name != "" {
		legs = s.Legs()
	}
	var b bytes.Buffer
	err = blank.Execute(&b, struct {
		BlankOptions
		Version int
		Legs    []Conductor
	}{o, Version, table(code.Conductors(s), legs)})
	return trailing.ReplaceAll(b.Bytes(), []byte("\n")), err
}

var trailing = regexp.MustCompile(" +\n")

// quote makes a text safe as a value of YAML; a blank one stays blank.
func quote(s string) string {
	if s == "" {
		return ""
	}
	return " '" + strings.ReplaceAll(s, "'", "''") + "'"
}

// remark keeps what a meter told of itself on a line of comment.
func remark(s string) string { return strings.Trim(strconv.Quote(s), `"`) }

// pad fills a line up, so that the remarks stand below each other.
func pad(width int, s string) string { return fmt.Sprintf("%-*s", width, s) }

var functions = template.FuncMap{"quote": quote, "pad": pad, "remark": remark}

var blank = template.Must(template.New("blank").Funcs(functions).Parse(
	`legwork-job: {{.Version}}
# A job sheet: fill in what you know; a blank line says nothing. Paths count from this file.
# legwork job check THIS FILE says what is wrong in it; every command that takes a METER takes this file.
site:
panel:
{{pad 26 "metered: mains"}}# mains: CT arrows point into the panel, with the current; branch: away from the
                          # breaker, towards the load (common practice, no source)
{{pad 26 (printf "service:%s" (quote .Service))}}{{with .ServiceBy}}# {{remark .}}{{end}}
meter:{{quote .Meter}}
{{with .About}}# {{remark .}}
{{end}}map:{{quote .Map}}
cts:
{{pad 26 "  output: current"}}# current: 5 A or 1 A (IEC 61869-2, 5.202), dangerous when open under load;
                          # voltage: 333 mV and others (market practice)
{{pad 26 "  secondary: 5 A"}}
{{if .CTPrimary}}{{pad 26 (printf "  primary: %g A" .CTPrimary)}}# as it is set in the meter: read the CTs' own plates
{{else}}{{pad 26 "  primary:"}}# rating, such as 200 A
{{end}}legs:                     # colour of each conductor. Local code rules; a colour never proves a phase.
{{range .Legs}}{{pad 26 (printf "  %s:%s" .Name (quote .Colour))}}
{{end -}}
{{pad 26 "reference_breaker:"}}# the breaker or fuses of the reference voltage: where, which, how many amperes
{{pad 26 (printf "generation:%s" (quote .Generation))}}# none, or possible: solar, a battery or a generator that may give power back
{{pad 26 "load:"}}# what is behind the meter: motors, heating, lighting, electronics, drives, capacitors
{{pad 26 "min_current: 1 A"}}# below it a channel isn't judged
people:
  technician:
  electrician:
  witness:
seen:                     # what tests showed before anything was moved, one sentence a line:
#  - 'leg 2 on: channel 3 up'
#  - 'ct 2 arrow wrong'
remarks:
`))
