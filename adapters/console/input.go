package console

import (
	"context"
	"errors"
	"io"
	"os"
	"time"
)

// errEnded is what a read gives that the end of the run has called off.
var errEnded = errors.New("the run has ended")

// input is a reader that stops waiting when the run's ctx ends.
type input struct {
	src   io.Reader
	ended <-chan struct{}
}

func newInput(ctx context.Context, src io.Reader) *input {
	return &input{src: src, ended: ctx.Done()}
}

type reading struct {
	n   int
	err error
}

// Read reads from src in a goroutine of its own, which is waited for whenever
// its read can be called off.
func (in *input) Read(p []byte) (int, error) {
	buf, got := make([]byte, len(p)), make(chan reading, 1)
	go func() {
		n, err := in.src.Read(buf)
		got <- reading{n, err}
	}()
	select {
	case r := <-got:
		return copy(p, buf[:r.n]), r.err
	case <-in.ended:
		if callOff(in.src) {
			<-got
		}
		return 0, errEnded
	}
}

// callOff makes a read that blocks return, and says whether it could.
func callOff(src io.Reader) bool {
	if f, ok := src.(interface{ SetReadDeadline(time.Time) error }); ok && f.SetReadDeadline(time.Unix(1, 0)) == nil {
		return true
	}
	if _, file := src.(*os.File); file {
		return false // closing a file waits for its reads
	}
	c, ok := src.(io.Closer)
	return ok && c.Close() == nil
}
