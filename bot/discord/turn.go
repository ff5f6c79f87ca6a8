package discord

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"sync"
	"time"

	"github.com/bwmarrin/discordgo"
)

// Turn is one thing a person did and our answering it. An answer that is not there after 1.5 s, be it that the question
// waits behind another of the same person, is promised by itself.
type Turn struct {
	Interaction *discordgo.Interaction // its Data is never nil
	Person      *discordgo.User
	c           *Connection
	received    time.Time
	bucket      string // the library's lock for this turn's requests

	mu       sync.Mutex
	promise  *time.Timer // nil where a promise is not possible
	answered bool
	promised bool // the answer is still owed
	over     bool
	told     time.Time // when it was last told how much is done
	telling  bool
	unsure   bool // whether that may still come to be shown, after what is sent in its place
}

// When an answer is promised, and how long after its question a first answer is still sent, and a later part of it.
const (
	promiseAfter   = 1500 * time.Millisecond
	answerWithin   = 2800 * time.Millisecond // of the platform's 3 s
	completeWithin = 14 * time.Minute        // of its quarter of an hour
)

func newTurn(c *Connection, i *discordgo.Interaction, person *discordgo.User) *Turn {
	t := &Turn{Interaction: i, Person: person, c: c, received: c.opts.Now(), bucket: "excuse"}
	if i.Type != discordgo.InteractionApplicationCommandAutocomplete {
		t.mu.Lock() // keepOpen may come before the timer is kept, where the machine is slow
		t.promise = time.AfterFunc(promiseAfter, t.keepOpen)
		t.mu.Unlock()
	}
	return t
}

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

// first sends the first answer, never a second one. The caller holds the lock.
func first[D any](ctx context.Context, t *Turn, bucket string, r response[D], files []*discordgo.File) error {
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
	if t.promise != nil {
		t.promise.Stop()
	}
	endpoint := discordgo.EndpointInteractionResponse(t.Interaction.ID, t.Interaction.Token)
	_, err = send(ctx, t.c, http.MethodPost, endpoint, bucket, r, files)
	if errors.Is(err, ErrDoubled) && tries > 1 {
		return nil // an earlier try had arrived, its acknowledgement had not
	}
	return err
}

// keepOpen promises an answer, for the asker alone: what it will be is not known yet.
func (t *Turn) keepOpen() {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.answered || t.over {
		return
	}
	r := response[message]{Type: discordgo.InteractionResponseDeferredChannelMessageWithSource}
	if !t.direct() {
		r.Data.Flags = discordgo.MessageFlagsEphemeral
	}
	bucket := "promise-" + t.Interaction.ID[len(t.Interaction.ID)-1:]
	if err := first(context.Background(), t, bucket, r, nil); err != nil {
		t.c.log.Warn("promising an answer", "err", err)
		return
	}
	t.promised = true
}

// direct tells a turn in a direct channel, where all is between two.
func (t *Turn) direct() bool { return t.Interaction.GuildID == "" }

// What stands in a promised place that only the asker sees, where the answer is for all, and in one that an edit may
// still reach.
const (
	below = "The answer stands below, where all can read it."
	apart = "The answer stands below."
)

// send answers with messages, the first as the answer and the others after it.
func (t *Turn) send(ctx context.Context, messages []message, private bool) error {
	t.mu.Lock()
	defer t.mu.Unlock()
	for i := range messages {
		messages[i].Mentions = nobody()
		if private {
			messages[i].Flags = discordgo.MessageFlagsEphemeral
		}
	}
	var err error
	switch {
	case !t.answered:
		r := response[message]{discordgo.InteractionResponseChannelMessageWithSource, messages[0]}
		err = first(ctx, t, t.bucket, r, messages[0].files)
		messages = messages[1:]
	case !t.promised:
		return ErrDoubled
	case t.unsure && (private || t.direct()):
		err = t.keep(ctx, message{Content: apart, Mentions: nobody()})
	case private || t.direct():
		err = t.keep(ctx, messages[0])
		messages = messages[1:]
	default:
		err = t.keep(ctx, message{Content: below, Mentions: nobody()})
	}
	for i := 0; err == nil && i < len(messages); i++ {
		err = t.follow(ctx, messages[i])
	}
	return err
}

// keep completes a promised answer.
func (t *Turn) keep(ctx context.Context, m message) error {
	ctx, cancel, err := t.left(ctx, completeWithin)
	if err != nil {
		return err
	}
	defer cancel()
	t.promised, m.Flags = false, 0
	return t.edit(ctx, m)
}

// follow sends a further message after the answer.
func (t *Turn) follow(ctx context.Context, m message) error {
	ctx, cancel, err := t.left(ctx, completeWithin)
	if err != nil {
		return err
	}
	defer cancel()
	endpoint := discordgo.EndpointFollowupMessage(t.Interaction.AppID, t.Interaction.Token)
	_, err = send(ctx, t.c, http.MethodPost, endpoint, t.bucket, m, m.files)
	return err
}

// Say answers with a plain text, seen by the asker alone if private.
func (t *Turn) Say(ctx context.Context, text string, private bool) error {
	return t.send(ctx, []message{{Content: text}}, private)
}

// note tells the asker something after the answer that nobody else is to read.
func (t *Turn) note(ctx context.Context, text string) error {
	t.mu.Lock()
	defer t.mu.Unlock()
	m := message{Content: text, Mentions: nobody()}
	if !t.direct() {
		m.Flags = discordgo.MessageFlagsEphemeral
	}
	return t.follow(ctx, m)
}

// failed is what a person reads where we have no answer.
const failed = "Something failed on our side, not yours. Please ask again; if it stays so, tell your steward."

// end sees to it that nobody is left waiting: a turn that was not answered, or not in full, is told that it failed.
func (t *Turn) end(ctx context.Context) {
	owed := t.close()
	if !owed {
		return
	}
	if err := t.Say(ctx, failed, true); err != nil {
		t.c.log.Warn("telling that an answer failed", "err", err)
	}
}

// close makes no promise any more and tells whether an answer is owed.
func (t *Turn) close() (owed bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.over = true
	if t.promise != nil {
		t.promise.Stop()
	}
	return t.promised || !t.answered && t.promise != nil
}

// complete answers what was typed so far with what it may become.
func (t *Turn) complete(ctx context.Context, choices []*discordgo.ApplicationCommandOptionChoice) error {
	t.mu.Lock()
	defer t.mu.Unlock()
	type offered struct {
		Choices []*discordgo.ApplicationCommandOptionChoice `json:"choices"`
	}
	r := response[offered]{discordgo.InteractionApplicationCommandAutocompleteResult, offered{choices}}
	return first(ctx, t, t.bucket, r, nil)
}

// form is what a modal is made of.
type form struct {
	CustomID   string                       `json:"custom_id"`
	Title      string                       `json:"title"`
	Components []discordgo.MessageComponent `json:"components"`
}

// open answers with a form, which only a first answer can be: ErrDoubled says that it was promised already.
func (t *Turn) open(ctx context.Context, f form) error {
	t.mu.Lock()
	defer t.mu.Unlock()
	return first(ctx, t, t.bucket, response[form]{discordgo.InteractionResponseModal, f}, nil)
}
