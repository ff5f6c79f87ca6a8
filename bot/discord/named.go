package discord

import (
	"cmp"
	"context"
	"errors"
	"slices"

	"github.com/bwmarrin/discordgo"

	"shortday/bot"
)

// mostNamed bounds how many ids of one reply are looked up.
const mostNamed = 4

// named gives a reply with the names of the channels and roles that it tells the ids of, as they are known to the one person
// who reads it; to everybody in the server where none is given. A channel that they cannot see keeps its id.
func (a *Adapter) named(ctx context.Context, server, reader string, r bot.Reply) bot.Reply {
	if server == "" {
		return r
	}
	var ids []string
	note := func(text string) {
		for _, found := range id.FindAllString(text, -1) {
			if len(ids) < mostNamed && !slices.Contains(ids, found) {
				ids = append(ids, found)
			}
		}
	}
	note(r.Text)
	for _, row := range r.Rows.Rows {
		for _, cell := range row {
			note(cell.String())
		}
	}
	if len(ids) == 0 {
		return r
	}
	names, err := a.conn.names(ctx, server, reader, ids)
	if err != nil {
		a.log.Warn("looking up the names of channels and roles", "err", err)
	}
	with := func(text string) string {
		return id.ReplaceAllStringFunc(text, func(found string) string { return cmp.Or(names[found], found) })
	}
	r.Text = with(r.Text)
	rows := make([][]bot.Cell, len(r.Rows.Rows))
	for i, row := range r.Rows.Rows {
		rows[i] = slices.Clone(row)
		for j, cell := range row {
			if id.MatchString(cell.String()) && !cell.IsNumber() {
				rows[i][j] = bot.Text(with(cell.String()))
			}
		}
	}
	r.Rows.Rows = rows
	return r
}

// names gives what people call those of a server's channels and roles that a reader may know of.
func (c *Connection) names(ctx context.Context, server, reader string, ids []string) (map[string]string, error) {
	home, err := get[discordgo.Guild](ctx, c, discordgo.EndpointGuild(server))
	if err != nil {
		return nil, err
	}
	var theirs discordgo.Member
	if reader != "" {
		if theirs, _, err = c.member(ctx, server, reader); err != nil {
			return nil, err
		}
	}
	names := map[string]string{}
	for _, role := range home.Roles {
		if role != nil && slices.Contains(ids, role.ID) {
			names[role.ID] = "@" + role.Name
		}
	}
	for _, id := range ids {
		if names[id] != "" {
			continue
		}
		channel, seen, err := c.seen(ctx, id, home.Roles, theirs.Roles, reader)
		if err != nil {
			return names, err
		}
		if channel.GuildID == server && (seen || home.OwnerID == reader) {
			names[id] = "#" + channel.Name
		}
	}
	return names, nil
}

// seen gives a channel, and whether a person with some of the server's roles sees it. A thread is seen where its channel
// is, a private one only by those who are in it.
func (c *Connection) seen(ctx context.Context, id string, all []*discordgo.Role, theirs []string, person string) (channel discordgo.Channel, seen bool, err error) {
	channel, err = get[discordgo.Channel](ctx, c, discordgo.EndpointChannel(id))
	around := channel
	if err == nil && channel.IsThread() {
		around, err = get[discordgo.Channel](ctx, c, discordgo.EndpointChannel(channel.ParentID))
	}
	if errors.Is(err, ErrGone) || errors.Is(err, ErrLacking) {
		return channel, false, nil
	}
	if err != nil || channel.Type == discordgo.ChannelTypeGuildPrivateThread {
		return channel, false, err
	}
	return channel, reckon(&around, all, theirs, person)&ViewChannel != 0, nil
}
