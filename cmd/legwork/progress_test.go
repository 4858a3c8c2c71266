package main

import (
	"bytes"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"
)

// Nobody waits longer than patience without a word, also within one long try, and
// short ones are not told at all.
func TestWhatIsTriedIsSaid(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var out bytes.Buffer
		p := &progress{w: &out, said: time.Now()}
		said := func() string {
			p.lock.Lock()
			defer p.lock.Unlock()
			return out.String()
		}
		p.tell("asking for %d", 1)
		time.Sleep(patience / 2)
		p.tell("asking for %d", 2)
		synctest.Wait()
		require.Empty(t, said())
		time.Sleep(patience)
		synctest.Wait()
		require.Equal(t, "  asking for 2\n", said())
		p.tell("asking for %d", 3)
		p.end()
		time.Sleep(time.Hour)
		synctest.Wait()
		require.Equal(t, "  asking for 2\n", said(), "what ended is not said")
	})
}
