package job

import (
	"bytes"
	"fmt"
	"regexp"
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

// pad fills a line up, so that the remarks stand below each other.
func pad(width int, s string) string { return fmt.Sprintf("%-*s", width, s) }

var blank = template.Must(template.New("blank").Funcs(template.FuncMap{"quote": quote, "pad": pad}).Parse(
	`legwork-job: {{.Version}}
# A job sheet: fill in what you know; a blank line says nothing. Paths count from this file.
# legwork job check THIS FILE says what is wrong in it; every command that takes a METER takes this file.
site:
panel:
{{pad 26 "metered: mains"}}# mains: CT arrows point into the panel, with the current; branch: away from the
                          # breaker, towards the load (common practice, no source)
service:{{quote .Service}}
meter:{{quote .Meter}}
map:{{quote .Map}}
cts:
{{pad 26 "  output: current"}}# current: 5 A or 1 A (IEC 61869-2, 5.202), dangerous when open under load;
                          # voltage: 333 mV and others (market practice)
{{pad 26 "  secondary: 5 A"}}
{{pad 26 "  primary:"}}# rating, such as 200 A
legs:                     # colour of each conductor. Local code rules; a colour never proves a phase.
{{range .Legs}}{{pad 26 (printf "  %s:%s" .Name (quote .Colour))}}
{{end -}}
{{pad 26 "reference_breaker:"}}# the breaker or fuses of the reference voltage: where, which, how many amperes
{{pad 26 "generation:"}}# none, or possible: solar, a battery or a generator that may give power back
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
