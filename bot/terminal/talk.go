package terminal

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"sync"

	"shortday/bot"
)

// Talk is one conversation: lines in, replies out, until the end of input.
type Talk struct {
	desk  *bot.Desk
	ask   func() bot.Ask
	keep  string
	lines lines
	sheet Sheet
	mu    sync.Mutex
	next  []bot.Next // offered last, taken by number
}

// NewTalk makes a conversation over a terminal, or over a pipe. Ask gives who asks, and when; files that come with
// replies go to the folder keep, if it has a name. The conversation has to be closed, which frees the terminal.
func NewTalk(desk *bot.Desk, ask func() bot.Ask, keep string, in io.Reader, out io.Writer, colour bool) (*Talk, error) {
	l, err := open(in, out)
	if err != nil {
		return nil, fmt.Errorf("taking over the terminal: %w", err)
	}
	return &Talk{desk: desk, ask: ask, keep: keep, lines: l, sheet: Sheet{Colour: colour}}, nil
}

// Close gives the terminal back.
func (t *Talk) Close() error { return t.lines.close() }

// Above prints a text above the line being typed. It may be called from any goroutine while Run runs.
func (t *Talk) Above(text string) error {
	_, err := io.WriteString(t.lines, strings.Join(wrap(bot.Clean(text, true), t.lines.width()), "\n")+"\n")
	return err
}

// Run talks until the input ends or the context does.
func (t *Talk) Run(ctx context.Context) error {
	for {
		typed, err := t.lines.read(ctx, "> ", t.completeRequest(ctx))
		for err == nil && strings.TrimSpace(typed) != "" {
			request, missed := t.picked(strings.TrimSpace(typed))
			if missed != "" {
				typed, err = "", t.Above(missed)
				continue
			}
			typed, err = t.take(ctx, request)
		}
		switch {
		case errors.Is(err, io.EOF) || errors.Is(err, context.Canceled):
			return nil
		case err != nil && !errors.Is(err, errDropped):
			return err
		}
	}
}

// picked gives the offered request of a number, and any other line as it is. Of a number that the last reply does not
// offer, while it offers others, it says so instead.
func (t *Talk) picked(typed string) (request, missed string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	n, err := strconv.Atoi(typed)
	switch most := len(t.next); {
	case err != nil || most == 0:
		return typed, ""
	case n < 1 || n > most:
		return "", fmt.Sprintf("%d is not offered. Type a number from 1 to %d for what the last reply offers, or a request.", n, most)
	}
	return t.next[n-1].Request, ""
}

// take answers a request. Required fields that it lacks are asked for one by one; a request typed in place of one of
// them is given back to be taken instead.
func (t *Talk) take(ctx context.Context, typed string) (instead string, err error) {
	request, fields, err := t.desk.Read(typed)
	if err != nil {
		return "", t.show(t.desk.AnswerLine(ctx, t.ask(), typed))
	}
	r, _ := t.desk.Request(request)
	ask := t.ask()
	ask.Progress = t.progress
	ask.Request, ask.Fields = request, fields
	for _, field := range r.Missing(fields) {
		text, err := t.fill(ctx, ask, field)
		if err != nil || strings.HasPrefix(text, "/") {
			return text, err
		}
		ask.Fields = append(slices.DeleteFunc(ask.Fields, func(e bot.Entry) bool { return e.Field == field.Name }),
			bot.Entry{Field: field.Name, Text: text})
	}
	if whole := ask.String(); whole != typed {
		t.lines.remember(whole)
	}
	return "", t.show(t.desk.Answer(ctx, ask))
}

// progress tells how far something long has come; a terminal that went away is found out by what is shown next.
func (t *Talk) progress(done, of int) { _ = t.Above(fmt.Sprintf("%d of %d …", done, of)) }

// fill asks for one field until something is typed.
func (t *Talk) fill(ctx context.Context, ask bot.Ask, field bot.Field) (string, error) {
	question := field.Name + ", " + field.Help
	if len(field.Choices) > 0 {
		var values []string
		for _, c := range field.Choices {
			values = append(values, c.Value)
		}
		question += " (" + strings.Join(values, ", ") + ")"
	}
	if err := t.Above(question + ":"); err != nil {
		return "", err
	}
	for {
		text, err := t.lines.read(ctx, field.Name+": ", t.completeValue(ctx, ask, field))
		if text = strings.TrimSpace(text); err != nil || text != "" {
			return text, err
		}
	}
}

func (t *Talk) show(reply bot.Reply) error {
	kept, err := Keep(t.keep, reply.Files)
	if err != nil {
		if err := t.Above("The files could not be kept: " + err.Error()); err != nil {
			return err
		}
	}
	t.mu.Lock()
	t.next = reply.Next // a number is never of an older reply
	t.mu.Unlock()
	sheet := t.sheet
	sheet.Width = t.lines.width()
	var text strings.Builder
	if err := sheet.Write(&text, reply, kept); err != nil {
		return err
	}
	_, err = io.WriteString(t.lines, text.String()+"\n")
	return err
}
