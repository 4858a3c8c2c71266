package link

import (
	"context"
	"io"
	"time"
)

// wire is a byte stream without frames: a serial port, or a socket to one.
// It is for one goroutine at a time, but for Close.
type wire interface {
	io.WriteCloser
	// receive waits for at least one byte. Its errors are
	// os.ErrDeadlineExceeded, that of the context, or that of a wire which broke.
	receive(ctx context.Context, into []byte, deadline time.Time) (int, error)
	// waiting gives what has come, without waiting for more; 0 is nothing.
	waiting(into []byte) int
}
