package discord

import (
	"cmp"
	"context"
	"slices"

	"github.com/bwmarrin/discordgo"

	"shortday/bot"
)

// mostNamed bounds how many ids of one reply are looked up.
const mostNamed = 10

// named gives a reply with the names of the channels and roles that it tells the ids of, as people know them.
func (a *Adapter) named(ctx context.Context, server string, r bot.Reply) bot.Reply {
	if server == "" {
		return r
	}
	names := map[string]string{}
	note := func(text string) {
		for _, found := range id.FindAllString(text, -1) {
			if _, seen := names[found]; !seen && len(names) < mostNamed {
				names[found] = a.conn.nameOf(ctx, server, found)
			}
		}
	}
	note(r.Text)
	for _, row := range r.Rows.Rows {
		for _, cell := range row {
			note(cell.String())
		}
	}
	if len(names) == 0 {
		return r
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

// nameOf gives what people call a channel or a role of a server; the id itself where it is neither.
func (c *Connection) nameOf(ctx context.Context, server, id string) string {
	channel, err := get[discordgo.Channel](ctx, c, discordgo.EndpointChannel(id))
	if err == nil && channel.GuildID == server {
		return "#" + channel.Name
	}
	roles, err := get[[]*discordgo.Role](ctx, c, discordgo.EndpointGuildRoles(server))
	if err != nil {
		c.log.Warn("looking up the name of a channel or role", "err", err)
		return id
	}
	for _, role := range roles {
		if role != nil && role.ID == id {
			return "@" + role.Name
		}
	}
	return id
}
