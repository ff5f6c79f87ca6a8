package discord

import (
	"context"
	"encoding/json"
	"fmt"

	"github.com/bwmarrin/discordgo"
)

// dispatch hands one event on. What does not decode is told of once and passed over: nothing a link says may end the
// process.
func (c *Connection) dispatch(shard, shards int, p packet) {
	defer func() {
		if problem := recover(); problem != nil {
			c.log.Error("a panic at an event", "event", p.Type, "panic", problem)
		}
	}()
	var err error
	switch p.Type {
	case "READY":
		err = c.onReady(shard, shards, p.Data)
	case "GUILD_CREATE", "GUILD_DELETE":
		err = c.onGuild(p.Type == "GUILD_CREATE", p.Data)
	case "INTERACTION_CREATE":
		err = c.onInteraction(p.Data)
	}
	if err != nil {
		c.log.Warn("an event that cannot be read", "event", p.Type, "err", err)
	}
}

// guild is as much of a server as an event must tell.
type guild struct {
	ID          string `json:"id"`
	Name        string `json:"name"`
	Unavailable bool   `json:"unavailable"`
}

func (c *Connection) onReady(shard, shards int, data []byte) error {
	var ready struct {
		User struct {
			ID string `json:"id"`
		} `json:"user"`
		Guilds []guild `json:"guilds"`
	}
	err := json.Unmarshal(data, &ready)
	c.mu.Lock()
	if ready.User.ID != "" {
		c.self = ready.User.ID
	}
	c.mu.Unlock()
	var servers []string
	for _, g := range ready.Guilds {
		if g.ID != "" {
			servers = append(servers, g.ID)
		}
	}
	if err == nil && c.events.Linked != nil {
		c.events.Linked(shard, shards, servers)
	}
	return err
}

func (c *Connection) onGuild(created bool, data []byte) error {
	var g guild
	err := json.Unmarshal(data, &g)
	switch {
	case g.ID == "" || g.Unavailable: // an outage is neither joining nor leaving
	case created && c.events.Joined != nil:
		c.events.Joined(g.ID, g.Name)
	case !created && c.events.Left != nil:
		c.events.Left(g.ID)
	}
	return err
}

// onInteraction queues what a person asks. One that decodes only in part is answered as far as it can be.
func (c *Connection) onInteraction(data []byte) error {
	var i discordgo.Interaction
	err := json.Unmarshal(data, &i)
	person := asker(&i)
	if i.ID == "" || i.Token == "" || person == nil || i.Data == nil || c.events.Asked == nil {
		return err
	}
	turn := newTurn(c, &i, person)
	queued := c.queue.add(person.ID, func(ctx context.Context, worker int) {
		turn.bucket = fmt.Sprintf("answer-%d", worker)
		defer turn.end(ctx)
		c.events.Asked(ctx, turn)
	})
	if !queued {
		c.turnAway(turn)
	}
	return err
}

// turnAway leaves a question that no room is left for to the one goroutine that says so, unless that too is behind.
func (c *Connection) turnAway(t *Turn) {
	select {
	case c.excess <- t:
	default:
		t.close()
	}
}

// excuse tells those turned away.
func (c *Connection) excuse(ctx context.Context) {
	for {
		select {
		case t := <-c.excess:
			err := t.Say(ctx, "Too much is being asked at once. Please ask again in a minute.", true)
			c.log.Warn("more questions than can be queued: one was turned away", "err", err)
		case <-ctx.Done():
			return
		}
	}
}

// asker gives who made an interaction, in a server or in direct messages; nil where it does not tell.
func asker(i *discordgo.Interaction) *discordgo.User {
	user := i.User
	if i.Member != nil {
		user = i.Member.User
	}
	if user == nil || user.ID == "" {
		return nil
	}
	return user
}
