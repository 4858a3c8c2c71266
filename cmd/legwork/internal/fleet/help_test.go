package fleet

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"
)

func writeMap(t *testing.T, file string, src []byte) {
	require.NoError(t, os.WriteFile(file, src, 0o600))
}
