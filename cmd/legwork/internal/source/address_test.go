package source

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/probe/link"
)

func TestParse(t *testing.T) {
	for text, want := range map[string]Address{
		"-":                             {Kind: Capture, Name: "-"},
		"kiln.jsonl":                    {Kind: Capture, Name: "kiln.jsonl"},
		`C:\captures\kiln.CSV`:          {Kind: Capture, Name: `C:\captures\kiln.CSV`},
		"tcp://10.0.0.7":                {Kind: TCP, Host: "10.0.0.7"},
		"tcp://10.0.0.7:1502/17":        {Kind: TCP, Host: "10.0.0.7:1502", Unit: 17},
		"tcp://[::1]/255":               {Kind: TCP, Host: "::1", Unit: 255},
		"tcp://[fe80::1]:502/1":         {Kind: TCP, Host: "[fe80::1]:502", Unit: 1},
		"promql+http://prom:9090/kiln":  {Kind: PromQL},
		"/dev/ttyUSB0":                  {Kind: BarePort, Port: link.Serial{Port: "/dev/ttyUSB0"}},
		"ttyUSB0":                       {Kind: BarePort, Port: link.Serial{Port: "/dev/ttyUSB0"}},
		"cu.usbserial-110":              {Kind: BarePort, Port: link.Serial{Port: "/dev/cu.usbserial-110"}},
		"com5":                          {Kind: BarePort, Port: link.Serial{Port: "COM5"}},
		"10.0.0.7":                      {Kind: BareHost, Host: "10.0.0.7"},
		"::1":                           {Kind: BareHost, Host: "::1"},
		"[::1]:1502":                    {Kind: BareHost, Host: "[::1]:1502"},
		"gateway-2.kiln.example:1502":   {Kind: BareHost, Host: "gateway-2.kiln.example:1502"},
		"kiln":                          {Kind: BareHost, Host: "kiln"},
		"sim:kiln-house":                {Kind: Sim, Name: "kiln-house"},
		"sim:saw-shed?fault=a,b&seed=7": {Kind: Sim, Name: "saw-shed", Fault: "a,b", Seed: 7},
	} {
		got, err := Parse(text)
		require.NoError(t, err)
		want.Text = text
		require.Equal(t, want, got)
	}
}

func TestParseSaysWhatWouldBeRight(t *testing.T) {
	for text, want := range map[string]string{
		"":                         "a METER is tcp://HOST/UNIT",
		"kiln house":               "this is no port and no host; a METER is tcp://HOST/UNIT",
		"10.0.0.7/3":               "this is no port and no host",
		"10.0.0.700":               "this is no port and no host",
		"10.0.0.7:0":               `port "0" is not from 1 to 65535`,
		"/tmp/kiln":                "this is no port and no host",
		"/dev/":                    "this is no port and no host",
		"http://10.0.0.7":          "a METER is tcp://HOST/UNIT",
		"tcp://":                   "is not tcp://HOST[:PORT][/UNIT]",
		"tcp://10.0.0.7/0":         `unit "0" is not from 1 to 247`,
		"tcp://10.0.0.7/248":       `unit "248" is not from 1 to 247`,
		"tcp://10.0.0.7:0":         "port 0 is not from 1 to 65535",
		"tcp://user@10.0.0.7":      "is not tcp://HOST[:PORT][/UNIT]",
		"sim:":                     "names no place",
		"sim:kiln-house?speed=9":   `"speed" is not known here`,
		"sim:kiln-house?seed=-1":   `seed "-1" is not a whole number`,
		"sim:kiln-house?fault=%zz": "can't be read",
	} {
		_, err := Parse(text)
		require.ErrorContains(t, err, want, text)
	}
}

func FuzzParse(f *testing.F) {
	f.Add("tcp://[::1]:502/1")
	f.Add("sim:kiln-house?fault=x&seed=2")
	f.Add("C:\\x.jsonl")
	f.Fuzz(func(t *testing.T, text string) {
		a, err := Parse(text)
		if err != nil { // law 1: an error is one line
			require.NotContains(t, strings.TrimRight(err.Error(), "\n"), "\n")
			return
		}
		require.NotZero(t, a.Kind, "law 2: what is accepted has a form")
		require.LessOrEqual(t, a.Unit, 255, "law 3: and a unit that can be sent")
	})
}
