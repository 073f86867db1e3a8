package console

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"unicode/utf8"

	"golang.org/x/term"
)

// screen is where lines come from and text goes to. Text is written in whole
// lines, also while a line is being read.
type screen interface {
	io.Writer
	// readLine waits for a line and returns it without its end. Run's goroutine
	// only. io.EOF means that there are no more.
	readLine(prompt string) (string, error)
	// columns is the width that text must fit into; 0 means any.
	columns() int
	// interactive says whether somebody sits there and types.
	interactive() bool
	// left is the screen to write to once nothing is read any more.
	left() screen
}

// openScreen opens a terminal with line editing where there is one that can do
// it, else a pipe. restore gives the terminal back.
func openScreen(o Options, in io.Reader) (s screen, restore func() error, err error) {
	nothing := func() error { return nil }
	if o.Raw {
		return newTerminal(in, o.Out, o.size()), nothing, nil
	}
	f, typed := terminalFile(o.In)
	if _, seen := terminalFile(o.Out); !typed || !seen || o.Getenv("TERM") == "dumb" {
		return &pipe{in: bufio.NewReader(in), out: o.Out, prompts: typed && seen, size: o.size()}, nothing, nil
	}
	var before *term.State
	if err := control(f, func(fd int) (err error) { before, err = term.MakeRaw(fd); return err }); err != nil {
		return nil, nil, fmt.Errorf("switch to raw mode: %w", err)
	}
	restore = func() error {
		return control(f, func(fd int) error { return term.Restore(fd, before) })
	}
	return newTerminal(in, o.Out, o.size()), restore, nil
}

// terminalFile is the file behind a stream, where that is a terminal.
func terminalFile(stream any) (f *os.File, ok bool) {
	f, file := stream.(*os.File)
	if !file {
		return nil, false
	}
	err := control(f, func(fd int) error { ok = term.IsTerminal(fd); return nil })
	return f, ok && err == nil
}

// control does something with a file's descriptor. File.Fd would switch the
// file to reads that no deadline can call off.
func control(f *os.File, do func(fd int) error) error {
	conn, err := f.SyscallConn()
	if err != nil {
		return err
	}
	var done error
	err = conn.Control(func(fd uintptr) { done = do(int(fd)) })
	return errors.Join(err, done)
}

// size is how to ask for the terminal's columns and rows; zeros are unknown.
func (o Options) size() func() (columns, rows int) {
	if o.Size != nil {
		return o.Size
	}
	f, ok := terminalFile(o.Out)
	if !ok {
		return func() (int, int) { return 0, 0 }
	}
	return func() (columns, rows int) {
		err := control(f, func(fd int) (err error) { columns, rows, err = term.GetSize(fd); return err })
		if err != nil {
			return 0, 0
		}
		return columns, rows
	}
}

// maxTyped is the most characters that x/term takes in one line. It drops the
// rest without a word, so a line that is full is not sent.
const maxTyped = 4096

var errLineFull = errors.New("line full")

// terminal is a terminal in raw mode: what is written while a line is being
// typed moves that line down and leaves it as it is.
type terminal struct {
	*term.Terminal
	in   io.Reader
	out  io.Writer
	size func() (columns, rows int)
}

func newTerminal(in io.Reader, out io.Writer, size func() (int, int)) *terminal {
	t := &terminal{in: in, out: out, size: size}
	t.Terminal = term.NewTerminal(keyboard{t}, "")
	t.AutoCompleteCallback = func(line string, pos int, key rune) (string, int, bool) {
		return line, pos, steers(key) // such a key leaves the line as it is
	}
	t.resize()
	return t
}

// keyboard is what x/term reads from and writes to. The window may have a new
// size whenever a key comes.
type keyboard struct{ t *terminal }

func (k keyboard) Write(p []byte) (int, error) { return k.t.out.Write(p) }

func (k keyboard) Read(p []byte) (int, error) {
	n, err := k.t.in.Read(p)
	k.t.resize()
	return n, err
}

func (t *terminal) resize() {
	if columns, rows := t.size(); columns > 0 {
		_ = t.SetSize(columns, rows) // it fails when writing fails, and then so does the next line
	}
}

func (t *terminal) Write(p []byte) (int, error) {
	t.resize()
	return t.Terminal.Write(p)
}

func (t *terminal) readLine(prompt string) (string, error) {
	t.SetPrompt(prompt)
	line, err := t.ReadLine()
	switch {
	case errors.Is(err, term.ErrPasteIndicator): // a pasted line is a line
	case err != nil:
		_, _ = io.WriteString(t.out, "\r\n") // leave the prompt's line; whether that works matters no more
		return "", err
	}
	if utf8.RuneCountInString(line) >= maxTyped {
		return "", errLineFull
	}
	return line, nil
}

func (t *terminal) columns() int {
	columns, _ := t.size()
	return columns
}

func (*terminal) interactive() bool { return true }

// left is a terminal without the prompt that the last line was read at.
func (t *terminal) left() screen { return newTerminal(t.in, t.out, t.size) }

// maxRead is how much of one line from a pipe is kept, in bytes. It is more
// than any handler takes, so a longer line is refused there all the same.
const maxRead = 1 << 20

// pipe is plain lines in and out, also on a terminal that cannot move its
// cursor.
type pipe struct {
	in      *bufio.Reader
	out     io.Writer
	prompts bool
	size    func() (columns, rows int)
}

func (p *pipe) Write(b []byte) (int, error) { return p.out.Write(b) }

// readLine takes a last line without a line feed as well.
func (p *pipe) readLine(prompt string) (string, error) {
	if p.prompts {
		if _, err := io.WriteString(p.out, prompt); err != nil {
			return "", err
		}
	}
	var line []byte
	for {
		part, err := p.in.ReadSlice('\n')
		line = append(line, part[:min(len(part), maxRead-len(line))]...)
		switch {
		case errors.Is(err, bufio.ErrBufferFull):
		case err == nil, errors.Is(err, io.EOF) && len(line) > 0:
			return strings.TrimSuffix(strings.TrimSuffix(string(line), "\n"), "\r"), nil
		default:
			p.leavePrompt()
			return "", err
		}
	}
}

func (p *pipe) leavePrompt() {
	if p.prompts {
		_, _ = io.WriteString(p.out, "\n")
	}
}

func (p *pipe) columns() int {
	columns, _ := p.size()
	return columns
}

func (*pipe) interactive() bool { return false }

func (p *pipe) left() screen { return p }
