package watch

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/screen"
)

// A fault is shown by its sketch, anything else by its phasors, and v shows the other one; a large screen has both.
func TestPicturesOfTheWiring(t *testing.T) {
	for fault, wantSketch := range map[string]bool{"ct2-reversed": true, "": false} {
		b := newBench(t, "kiln-house", fault, screen.Style{})
		b.size(80, 24)
		b.read(30)
		for range 2 {
			shown := b.screen()
			require.Equal(t, wantSketch, strings.Contains(shown, "AS IT IS"), shown)
			require.Equal(t, wantSketch, !strings.Contains(shown, "V3"), shown)
			b.press("v")
			wantSketch = !wantSketch
		}
		b.size(200, 60)
		require.Contains(t, b.screen(), "AS IT IS")
		require.Contains(t, b.screen(), "⠈⢆", "phasors")
	}
}
