package discord

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"time"

	"github.com/bwmarrin/discordgo"
)

// Turn is one thing a person did and our answering it. It is used by one goroutine at a time.
type Turn struct {
	Interaction *discordgo.Interaction // its Data is never nil
	Person      *discordgo.User
	c           *Connection
	received    time.Time
	lane        int
	answered    bool
	deferred    bool
}

// How long after an interaction came a first answer is still sent, and a later part of it.
const (
	answerWithin   = 2800 * time.Millisecond // of the platform's 3 s
	completeWithin = 14 * time.Minute        // of its quarter of an hour
)

// response is a first answer: a message, completions or a form.
type response[D any] struct {
	Type discordgo.InteractionResponseType `json:"type"`
	Data D                                 `json:"data"`
}

// left gives the context in which an answer makes sense, or an error where it comes too late.
func (t *Turn) left(ctx context.Context, within time.Duration) (context.Context, context.CancelFunc, error) {
	rest := t.received.Add(within).Sub(t.c.opts.Now())
	if rest <= 0 {
		return nil, nil, fmt.Errorf("%w after %v", ErrLate, within)
	}
	limited, cancel := context.WithTimeout(ctx, rest)
	return limited, cancel, nil
}

// first sends the first answer, never a second one.
func first[D any](ctx context.Context, t *Turn, r response[D], files []*discordgo.File) error {
	if t.answered {
		return ErrDoubled
	}
	tries := 0
	ctx, cancel, err := t.left(context.WithValue(ctx, repeatable{}, &tries), answerWithin)
	if err != nil {
		return err
	}
	defer cancel()
	t.answered = true
	endpoint := discordgo.EndpointInteractionResponse(t.Interaction.ID, t.Interaction.Token)
	_, err = send(ctx, t.c, http.MethodPost, endpoint, t.bucket(), r, files)
	if errors.Is(err, ErrDoubled) && tries > 1 {
		return nil // an earlier try had arrived, its acknowledgement had not
	}
	return err
}

// bucket names the library's lock for this turn's requests: one a worker, so that none waits for another and the
// library's table does not grow.
func (t *Turn) bucket() string { return fmt.Sprintf("answer-%d", t.lane) }

// answer sends a message as the first answer.
func (t *Turn) answer(ctx context.Context, m message) error {
	return first(ctx, t, response[message]{discordgo.InteractionResponseChannelMessageWithSource, m}, m.files)
}

// promise defers the answer; private decides who will see it.
func (t *Turn) promise(ctx context.Context, private bool) error {
	var m message
	if private {
		m.Flags = discordgo.MessageFlagsEphemeral
	}
	err := first(ctx, t, response[message]{discordgo.InteractionResponseDeferredChannelMessageWithSource, m}, nil)
	t.deferred = err == nil
	return err
}

// keep completes a promised answer.
func (t *Turn) keep(ctx context.Context, m message) error {
	ctx, cancel, err := t.left(ctx, completeWithin)
	if err != nil {
		return err
	}
	defer cancel()
	m.Flags = 0
	endpoint := discordgo.EndpointInteractionResponseActions(t.Interaction.AppID, t.Interaction.Token)
	_, err = send(ctx, t.c, http.MethodPatch, endpoint, t.bucket(), m, m.files)
	return err
}

// Say answers with a plain text, seen by the asker alone if private.
func (t *Turn) Say(ctx context.Context, text string, private bool) error {
	m := message{Content: text, Mentions: nobody()}
	if private {
		m.Flags = discordgo.MessageFlagsEphemeral
	}
	if t.deferred {
		return t.keep(ctx, m)
	}
	return t.answer(ctx, m)
}

// follow sends a further message after the answer.
func (t *Turn) follow(ctx context.Context, m message) error {
	ctx, cancel, err := t.left(ctx, completeWithin)
	if err != nil {
		return err
	}
	defer cancel()
	endpoint := discordgo.EndpointFollowupMessage(t.Interaction.AppID, t.Interaction.Token)
	_, err = send(ctx, t.c, http.MethodPost, endpoint, t.bucket(), m, m.files)
	return err
}
