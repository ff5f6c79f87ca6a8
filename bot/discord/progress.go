package discord

import (
	"context"
	"fmt"
	"net/http"
	"time"

	"github.com/bwmarrin/discordgo"
)

// Progress is told at most so often, and no such edit is waited for longer.
const (
	progressPause = 3 * time.Second
	progressLimit = 5 * time.Second
)

// Progress tells, in the place of an answer that was promised, how much is done. It sends aside, since what it tells of
// may hold up others, and the answer waits until that has arrived.
func (t *Turn) Progress(done, of int) {
	if !t.mu.TryLock() {
		return // something is being sent
	}
	defer t.mu.Unlock()
	now := t.c.opts.Now()
	if !t.promised || t.telling || t.unsure || now.Sub(t.told) < progressPause {
		return
	}
	t.told, t.telling = now, true
	go t.tellProgress(fmt.Sprintf("Working on it: %d of %d done.", done, of))
}

// tellProgress edits the promised place. An edit of which it is not known whether it arrives later is the last one.
func (t *Turn) tellProgress(text string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.telling = false
	if !t.promised {
		return
	}
	ctx, cancel, err := t.left(context.Background(), completeWithin)
	if err != nil {
		return
	}
	defer cancel()
	ctx, stop := context.WithTimeout(ctx, progressLimit)
	defer stop()
	if err := t.edit(ctx, message{Content: text, Mentions: nobody()}); err != nil {
		t.unsure = true
		t.c.log.Warn("telling how much is done", "err", err)
	}
}

// edit changes the promised place as a whole: what it does not have is taken out of it.
func (t *Turn) edit(ctx context.Context, m message) error {
	whole := struct {
		message
		Content string `json:"content"`
	}{m, m.Content}
	endpoint := discordgo.EndpointInteractionResponseActions(t.Interaction.AppID, t.Interaction.Token)
	_, err := send(ctx, t.c, http.MethodPatch, endpoint, t.bucket, whole, m.files)
	return err
}
