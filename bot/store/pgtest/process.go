package pgtest

import (
	"bufio"
	"fmt"
	"io"
	"os/exec"
	"runtime"
	"strings"
)

// ready is what the server logs once it takes connections.
const ready = "database system is ready to accept connections"

// process is a server that runs.
type process struct {
	cmd   *exec.Cmd
	ended chan struct{}
}

// launch starts the server and returns when it takes connections. The thread that
// starts it waits for it too: the system ends the server with that thread.
func launch(cmd *exec.Cmd) (*process, error) {
	log, err := cmd.StderrPipe()
	if err != nil {
		return nil, err
	}
	p := &process{cmd: cmd, ended: make(chan struct{})}
	started := make(chan error, 1)
	go func() {
		runtime.LockOSThread() // never unlocked: the thread ends with this function
		defer close(p.ended)
		err := cmd.Start()
		if err == nil {
			err = untilReady(log)
		}
		started <- err
		if cmd.Process != nil {
			io.Copy(io.Discard, log)
			cmd.Wait()
		}
	}()
	if err := <-started; err != nil {
		p.kill()
		return nil, err
	}
	return p, nil
}

// untilReady reads the log until the server is ready; when it ends before that,
// the log says why.
func untilReady(log io.Reader) error {
	var said strings.Builder
	for lines := bufio.NewScanner(log); lines.Scan(); {
		if strings.Contains(lines.Text(), ready) {
			return nil
		}
		fmt.Fprintln(&said, lines.Text())
	}
	return fmt.Errorf("postgres ended: %s", said.String())
}

// kill ends the server, without care for its data, and waits until it is gone.
func (p *process) kill() {
	if p.cmd.Process != nil {
		p.cmd.Process.Signal(quit)
	}
	<-p.ended
}
