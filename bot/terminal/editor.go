package terminal

import (
	"context"
	"errors"
	"io"

	"golang.org/x/term"
)

// editor edits lines on a terminal in raw mode.
type editor struct {
	*term.Terminal
	size    func() (width, height int, err error)
	restore func() error
	history history
	tab     completer
	dropped bool
}

func newEditor(keys io.Reader, screen io.Writer, size func() (width, height int, err error)) *editor {
	e := &editor{size: size, restore: func() error { return nil }}
	e.Terminal = term.NewTerminal(struct {
		io.Reader
		io.Writer
	}{&interrupts{keys: keys}, screen}, "")
	e.AutoCompleteCallback = e.key
	e.History = &e.history
	return e
}

func (e *editor) read(ctx context.Context, prompt string, tab completer) (string, error) {
	if width, height, err := e.size(); err == nil && width > 0 {
		if err := e.SetSize(width, height); err != nil {
			return "", err
		}
	}
	e.SetPrompt(prompt)
	e.tab, e.dropped = tab, false
	line, err := waiting(ctx, e.ReadLine)
	if errors.Is(err, term.ErrPasteIndicator) {
		err = nil
	}
	if err == nil && e.dropped {
		return "", errDropped
	}
	return line, err
}

// key is called for each key that the terminal does not use itself.
func (e *editor) key(line string, pos int, key rune) (string, int, bool) {
	switch key {
	case dropLine:
		e.dropped = true
		return "", 0, true
	case '\t':
		completed, at, choices := e.tab(line, pos)
		if choices != "" {
			_, _ = io.WriteString(e, choices) // a screen that is gone ends the next read
		}
		return completed, at, true
	default:
		return "", 0, false
	}
}

func (e *editor) remember(request string) { e.history.Add(request) }

func (e *editor) width() int {
	width, _, err := e.size()
	if err != nil || width <= 0 {
		return 80
	}
	return width
}

func (e *editor) close() error { return e.restore() }

// interrupts turns Ctrl-C, which x/term cannot tell from the end of input, into a key that drops the line and Enter.
type interrupts struct {
	keys    io.Reader
	pending []byte
}

const (
	ctrlC    = 3
	dropLine = 0x1e // a control character that no key of a keyboard is bound to here
)

func (i *interrupts) Read(b []byte) (int, error) {
	if len(i.pending) == 0 {
		read := make([]byte, max(1, len(b)/2))
		n, err := i.keys.Read(read)
		for _, key := range read[:n] {
			if key == ctrlC {
				i.pending = append(i.pending, dropLine, '\r')
			} else {
				i.pending = append(i.pending, key)
			}
		}
		if len(i.pending) == 0 {
			return 0, err
		}
	}
	n := copy(b, i.pending)
	i.pending = i.pending[n:]
	return n, nil
}

// history keeps the last lines, the newest first. Empty ones and repetitions are not kept.
type history struct{ lines []string }

const remembered = 200

func (h *history) Add(line string) {
	if line == "" || h.Len() > 0 && h.At(0) == line {
		return
	}
	h.lines = append(h.lines, line)
	h.lines = h.lines[max(0, len(h.lines)-remembered):]
}

func (h *history) Len() int { return len(h.lines) }

func (h *history) At(i int) string { return h.lines[len(h.lines)-1-i] }
