package job

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

const found = "rtu:///dev/ttyUSB0?baud=9600&parity=none&unit=7"

// A person's words stay, to the byte; only the value comes in.
func TestFillKeepsEveryByte(t *testing.T) {
	full := "meter: '" + found + "'"
	for name, c := range map[string]struct{ before, after string }{
		"a blank line": {"legwork-job: 1\nmeter:\nsite: Kiln\n", "legwork-job: 1\n" + full + "\nsite: Kiln\n"},
		"a remark behind": {"# mine\nlegwork-job: 1 # one\nmeter:    # the one in the cellar\n\n\nsite: Kiln # K",
			"# mine\nlegwork-job: 1 # one\n" + full + "    # the one in the cellar\n\n\nsite: Kiln # K"},
		"no such line": {"legwork-job: 1\nremarks: |\n  two\n  lines", "legwork-job: 1\nremarks: |\n  two\n  lines\n" + full + "\n"},
		"as Windows writes": {"\uFEFFlegwork-job: 1\r\nmeter:\r\nsite: Kiln\r\n",
			"\uFEFFlegwork-job: 1\r\n" + full + "\r\nsite: Kiln\r\n"},
		"Windows, no such line": {"legwork-job: 1\r\nsite: Kiln", "legwork-job: 1\r\nsite: Kiln\r\n" + full + "\r\n"},
		"in short before":       {"meter: ttyUSB0  # front\nlegwork-job: 1\n", full + "  # front\nlegwork-job: 1\n"},
		"there already":         {"legwork-job: 1\nmeter: " + found + "\n", "legwork-job: 1\nmeter: " + found + "\n"},
		"empty quotes":          {"legwork-job: 1\nmeter: ''\n", "legwork-job: 1\n" + full + "\n"},
		"what is wrong elsewhere": {"legwork-job: 1\nsight: Kiln\nmeter:\n",
			"legwork-job: 1\nsight: Kiln\n" + full + "\n"},
	} {
		t.Run(name, func(t *testing.T) {
			got, err := Fill("k.yaml", []byte(c.before), Value{"meter", found})
			require.NoError(t, err)
			require.Equal(t, c.after, string(got))
		})
	}
}

func TestWhatIsNotFilled(t *testing.T) {
	for src, want := range map[string]string{
		"legwork-job: 1\nmeter: tcp://10.0.0.7/3\n": `k.yaml:2:8: "tcp://10.0.0.7/3" is here already`,
		"legwork-job: 1\nmeter: ttyUSB1\n":          `k.yaml:2:8: "ttyUSB1" is here already`,
		"{legwork-job: 1, meter: }\n":               "written in a way that can't be added to",
		"{legwork-job: 1}\n":                        "k.yaml:",
		"legwork-job: 1\nmeter: |\n\nsite: x\n":     `k.yaml:2:8: "" is here already`,
		"legwork-job: 1\nsite: x\n...\n":            "k.yaml:",
		"legwork-map: 1\npoints:\n":                 "this is no job sheet",
		"":                                          "the file is empty",
		"meter: [":                                  "k.yaml:1:",
		"legwork-job: 1\nmeter:\nmeter:\n":          `"meter" stands twice`,
		"\xFF\xFEm\x00":                             "this is UTF-16",
	} {
		_, err := Fill("k.yaml", []byte(src), Value{"meter", found})
		require.ErrorContains(t, err, want, src)
	}
}

func FuzzFill(f *testing.F) {
	f.Add("legwork-job: 1\nmeter: # a\nsite: 'x # y'\n", "tcp://h/1")
	f.Add("\uFEFFmeter: ttyUSB0\r\nlegwork-job: 1", "rtu:///dev/ttyUSB0?unit=1")
	f.Add("legwork-job: 1\n'meter' : \"\" # it's\n", "it's")
	f.Fuzz(func(t *testing.T, src, meter string) {
		if strings.TrimSpace(meter) == "" || strings.ContainsFunc(meter, func(r rune) bool { return r < ' ' || r > '~' }) {
			return
		}
		out, err := Fill("k.yaml", []byte(src), Value{"meter", meter})
		if err != nil {
			return
		}
		again, err := Fill("k.yaml", out, Value{"meter", meter})
		require.NoError(t, err, "law 1: what was filled in can be read back")
		require.Equal(t, string(out), string(again), "law 2: and isn't filled in twice")
		rest := string(out) // law 3: what a person wrote is there, in its order
		for _, line := range strings.Split(src, "\n") {
			if head, _, is := strings.Cut(line, ":"); is && strings.Contains(head, "meter") {
				continue
			}
			i := strings.Index(rest, strings.TrimSuffix(line, "\r"))
			require.GreaterOrEqual(t, i, 0, "%q", line)
			rest = rest[i+len(strings.TrimSuffix(line, "\r")):]
		}
	})
}
