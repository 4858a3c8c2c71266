package sites

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

const yardFile = "\xEF\xBB\xBFname,meter,under,note\r\n" +
	"m7 ,tcp://h/7,,\"by the \"\"old\"\" door\"\r\n" +
	"\r\n" +
	"\"m8\",tcp://h/8,m7,\r\n" +
	"m9,tcp://h/9"

func TestRename(t *testing.T) {
	out, err := Rename("s.csv", []byte(yardFile), "m7", "suite-12", "was m7")
	require.NoError(t, err)
	require.Equal(t, strings.NewReplacer("m7 ,tcp://h/7,,\"by the \"\"old\"\" door\"",
		"suite-12,tcp://h/7,,\"by the \"\"old\"\" door; was m7\"",
		"\"m8\",tcp://h/8,m7,", "m8,tcp://h/8,suite-12,").Replace(yardFile), string(out))

	out, err = Rename("s.csv", []byte(yardFile), "m9", "suite, 13", "was m9")
	require.NoError(t, err)
	require.Equal(t, strings.Replace(yardFile, "m9,", "\"suite, 13\",", 1), string(out), "a row that ends before its note")
	_, err = Rename("s.csv", []byte(yardFile), "m9", "m8", "")
	require.ErrorContains(t, err, `s.csv: there is a meter "m8" already`)
	_, err = Rename("s.csv", []byte(yardFile), "m1", "x", "")
	require.ErrorContains(t, err, `s.csv: there is no meter "m1"`)
}

func FuzzRename(f *testing.F) {
	f.Add(yardFile)
	f.Add("name;meter;note\na;sim:kiln-house;\"x\ny\"\n")
	f.Fuzz(func(t *testing.T, src string) {
		before, err := Parse("f.csv", []byte(src), noSheets)
		if err != nil || before.Sites[0].Name == "zz" {
			return
		}
		out, err := Rename("f.csv", []byte(src), before.Sites[0].Name, "zz", "n")
		if err != nil {
			return
		}
		after, err := Parse("f.csv", out, noSheets) // law 1: it stays a list
		require.NoError(t, err)
		require.Len(t, after.Sites, len(before.Sites))
		for i, s := range after.Sites[1:] { // law 2: the others stay as they are, but for `under`
			require.Equal(t, before.Sites[i+1].Name, s.Name)
			require.Equal(t, before.Sites[i+1].Meter, s.Meter)
		}
		require.Equal(t, "zz", after.Sites[0].Name)
	})
}
