package terminal

import (
	"bufio"
	"context"
	"errors"
	"io"
	"os"
	"sync"

	"golang.org/x/term"
)

// errDropped is given for a line that its typist gave up with Ctrl-C.
var errDropped = errors.New("line dropped")

// completer gives the line with its cursor (a byte index) after Tab, and a list to show above where more than one
// thing could follow.
type completer func(line string, pos int) (completed string, at int, choices string)

// lines is where a conversation's lines come from and go to. Write prints above the line being typed.
type lines interface {
	io.Writer
	// read gives the next line; errDropped, or io.EOF at the end.
	read(ctx context.Context, prompt string, tab completer) (string, error)
	// remember puts a request into the history.
	remember(request string)
	// width gives the cells of a line; 0 where there is no limit.
	width() int
	close() error
}

// open edits lines where both ends are a terminal, and otherwise takes them as they come.
func open(in io.Reader, out io.Writer) (lines, error) {
	keys, typed := in.(*os.File)
	screen, shown := out.(*os.File)
	if !typed || !shown || !term.IsTerminal(int(keys.Fd())) || !term.IsTerminal(int(screen.Fd())) {
		return newPipe(in, out), nil
	}
	state, err := term.MakeRaw(int(keys.Fd()))
	if err != nil {
		return nil, err
	}
	e := newEditor(keys, screen, func() (int, int, error) { return term.GetSize(int(screen.Fd())) })
	e.restore = func() error { return term.Restore(int(keys.Fd()), state) }
	return e, nil
}

// Colours reports whether a stream is a terminal whose user has not asked for plain text by NO_COLOR or TERM=dumb.
func Colours(out io.Writer, getenv func(string) string) bool {
	f, ok := out.(*os.File)
	return ok && getenv("NO_COLOR") == "" && getenv("TERM") != "dumb" && term.IsTerminal(int(f.Fd()))
}

// Typed reports whether a stream is a terminal at which somebody can answer.
func Typed(in io.Reader) bool {
	f, ok := in.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// Width gives the cells of a terminal's line; 0 for what is no terminal.
func Width(out io.Writer) int {
	if f, ok := out.(*os.File); ok {
		if width, _, err := term.GetSize(int(f.Fd())); err == nil {
			return width
		}
	}
	return 0
}

// pipe takes lines from what is no terminal. It echoes nothing.
type pipe struct {
	scanner *bufio.Scanner
	mu      sync.Mutex
	out     io.Writer
}

const longestLine = 1 << 20

func newPipe(in io.Reader, out io.Writer) *pipe {
	scanner := bufio.NewScanner(in)
	scanner.Buffer(nil, longestLine)
	return &pipe{scanner: scanner, out: out}
}

func (p *pipe) Write(b []byte) (int, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.out.Write(b)
}

func (p *pipe) read(ctx context.Context, _ string, _ completer) (string, error) {
	return waiting(ctx, func() (string, error) {
		if p.scanner.Scan() {
			return p.scanner.Text(), nil
		}
		return "", errors.Join(p.scanner.Err(), io.EOF)
	})
}

func (p *pipe) remember(string) {}
func (p *pipe) width() int      { return 0 }
func (p *pipe) close() error    { return nil }

// waiting reads in a goroutine of its own, since nothing else ends a read from a terminal when the context does.
// The goroutine stays with its read, and the line that may still come is lost with the conversation.
func waiting(ctx context.Context, read func() (string, error)) (string, error) {
	type result struct {
		line string
		err  error
	}
	done := make(chan result, 1)
	go func() {
		line, err := read()
		done <- result{line, err}
	}()
	select {
	case r := <-done:
		return r.line, r.err
	case <-ctx.Done():
		return "", ctx.Err()
	}
}
