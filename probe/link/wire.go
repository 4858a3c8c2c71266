package link

import (
	"context"
	"io"
	"time"
)

// wire is a byte stream without frames: a serial port, or a socket to one.
// It is for one goroutine at a time, but for Close. Errors are
// os.ErrDeadlineExceeded, that of the context, or that of a wire which broke.
type wire interface {
	io.Closer
	// ask sends a question and gives the first bytes that come after it. Bytes
	// that had come before it are given instead, and then nothing was sent.
	ask(ctx context.Context, q question) (n int, sent bool, err error)
	// receive waits for at least one byte.
	receive(ctx context.Context, into []byte, deadline time.Time) (int, error)
}

// question is a request to send, and where and until when its answer may come.
type question struct {
	adu, into []byte
	deadline  time.Time
	how       manner
}

// manner is how a question is put.
type manner byte

const (
	looking    manner = iota // for what had come before, which is given instead
	trusting                 // that nothing had come; what had is seen when more comes
	regardless               // of what had come, which is read with what follows
)
