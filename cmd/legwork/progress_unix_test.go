//go:build unix

package main

import (
	"testing"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"
)

// What is tried stays on its line, however narrow the terminal is: the next word
// goes over it.
func TestWhatIsTriedFitsTheTerminal(t *testing.T) {
	screen, terminal, err := pty.Open()
	require.NoError(t, err)
	defer screen.Close()
	defer terminal.Close()
	require.NoError(t, pty.Setsize(terminal, &pty.Winsize{Cols: 40, Rows: 24}))
	p := &progress{w: terminal, live: true}
	p.tell("%d questions asked, %d registers found, more at holding 16585", 899, 107)
	said := make([]byte, 200)
	n, err := screen.Read(said)
	require.NoError(t, err)
	require.Equal(t, "\r\x1b[K  899 questions asked, 107 registers...", string(said[:n]))
}
