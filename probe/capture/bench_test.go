package capture

import (
	"bytes"
	"errors"
	"io"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// day is a reading a second for a day, in either form.
func day(b *testing.B, newWriter func(io.Writer) writer) []byte {
	all, err := collect(kilnLine)
	require.NoError(b, err)
	r := all[0]
	var text bytes.Buffer
	w := newWriter(&text)
	for range 86_400 {
		require.NoError(b, w.Write(r))
		r.At = r.At.Add(time.Second)
	}
	return text.Bytes()
}

// BenchmarkCaptureDay reads a day of seconds; a second is the aim.
func BenchmarkCaptureDay(b *testing.B) {
	for name, newWriter := range writers {
		b.Run(name, func(b *testing.B) {
			text := day(b, newWriter)
			b.SetBytes(int64(len(text)))
			b.ReportAllocs()
			for b.Loop() {
				readDay(b, text)
			}
		})
	}
}

func readDay(b *testing.B, text []byte) {
	c, err := NewReader("f", bytes.NewReader(text))
	require.NoError(b, err)
	n := 0
	for {
		_, err := c.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			b.Fatal(err)
		}
		n++
	}
	require.Equal(b, 86_400, n)
}

func BenchmarkSave(b *testing.B) {
	all, err := collect(kilnLine)
	require.NoError(b, err)
	for name, newWriter := range writers {
		b.Run(name, func(b *testing.B) {
			w := newWriter(io.Discard)
			b.ReportAllocs()
			for b.Loop() {
				_ = w.Write(all[0])
			}
		})
	}
}
