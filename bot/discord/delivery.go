package discord

import (
	"context"
	"fmt"

	"github.com/bwmarrin/discordgo"

	"shortday/bot"
)

// Deliver posts a reply of our own accord, in a channel of a co-op or the direct one of a person, under the key of its
// notice; only those named are pinged. It gives the message's id.
func (a *Adapter) Deliver(ctx context.Context, channel, coop, key string, r bot.Reply, pings ...string) (id string, err error) {
	return a.deliver(ctx, channel, askSign, Kept{Coop: coop}, key, r, pings)
}

// deliver posts; the sign says what its buttons do, and k for whom.
func (a *Adapter) deliver(ctx context.Context, channel, sign string, k Kept, key string, r bot.Reply, pings []string) (id string, err error) {
	for i, m := range render(a.named(ctx, k.Coop, k.Who, r), 1) {
		next := []bot.Next{{Label: "What can I ask?", Request: "/help"}}
		part := key
		if i > 0 {
			part, pings = fmt.Sprintf("%s/%d", key, i+1), nil
		} else if len(r.Next) > 0 {
			next = r.Next
		}
		rows, err := a.posted(ctx, sign, next, k)
		if err != nil {
			return id, err
		}
		sent, err := a.conn.post(ctx, channel, part, m, rows, pings)
		if err != nil {
			return id, err
		}
		if i == 0 {
			id = sent
		}
	}
	return id, nil
}

// posted makes the rows of a post: buttons first, since a button carries the post's key.
func (a *Adapter) posted(ctx context.Context, sign string, next []bot.Next, k Kept) ([]discordgo.ActionsRow, error) {
	few := min(len(next), mostButtons)
	rows, err := a.offer(ctx, sign, next[:few], k)
	if err != nil {
		return nil, err
	}
	more, err := a.offer(ctx, sign, next[few:], k)
	return append(rows, more...), err
}
