package main

import (
	"bytes"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"
)

// heard is what is said from several goroutines.
type heard struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (h *heard) Write(p []byte) (int, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.text.Write(p)
}

func (h *heard) String() string {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.text.String()
}

// Nobody waits longer than patience without a word, also within one long try, and
// short ones are not told at all.
func TestWhatIsTriedIsSaid(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var said heard
		p := &progress{w: &said, said: time.Now()}
		p.tell("asking for %d", 1)
		time.Sleep(patience / 2)
		p.tell("asking for %d", 2)
		synctest.Wait()
		require.Empty(t, said.String())
		time.Sleep(patience)
		synctest.Wait()
		require.Equal(t, "  asking for 2\n", said.String())
		p.tell("asking for %d", 3)
		p.end()
		time.Sleep(time.Hour)
		synctest.Wait()
		require.Equal(t, "  asking for 2\n", said.String(), "what ended is not said")
	})
}
