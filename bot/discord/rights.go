package discord

import (
	"cmp"
	"context"
	"errors"
	"net/url"
	"slices"
	"strconv"

	"github.com/bwmarrin/discordgo"

	"shortday/knowledge/fault"
)

// Right is one of the platform's rights that a post needs.
type Right int64

// The rights that a post needs, and the one to find it again.
const (
	ViewChannel   Right = discordgo.PermissionViewChannel
	SendMessages  Right = discordgo.PermissionSendMessages
	EmbedLinks    Right = discordgo.PermissionEmbedLinks
	AttachFiles   Right = discordgo.PermissionAttachFiles
	ReadHistory   Right = discordgo.PermissionReadMessageHistory
	SendInThreads Right = discordgo.PermissionSendMessagesInThreads // in a thread in place of SendMessages
	Posting             = ViewChannel | SendMessages | EmbedLinks | AttachFiles | ReadHistory
)

// Names gives the rights in the words of Discord's own settings.
func (r Right) Names() []string {
	var names []string
	for _, one := range []struct {
		right Right
		name  string
	}{
		{ViewChannel, "View Channel"}, {SendMessages, "Send Messages"}, {EmbedLinks, "Embed Links"},
		{AttachFiles, "Attach Files"}, {ReadHistory, "Read Message History"},
		{SendInThreads, "Send Messages in Threads"},
	} {
		if r&one.right != 0 {
			names = append(names, one.name)
		}
	}
	return names
}

// Rights gives which of the rights wanted the bot has in a channel, all of them in a direct one. Wanted is Posting; in a
// thread, whose rights are its channel's, the one to write is another.
func (c *Connection) Rights(ctx context.Context, channel string) (has, wanted Right, err error) {
	ch, err := get[discordgo.Channel](ctx, c, discordgo.EndpointChannel(channel))
	wanted = Posting
	if err == nil && ch.IsThread() {
		wanted = Posting&^SendMessages | SendInThreads
		ch, err = get[discordgo.Channel](ctx, c, discordgo.EndpointChannel(ch.ParentID))
	}
	if errors.Is(err, ErrLacking) {
		return 0, wanted, nil
	}
	if err != nil || ch.GuildID == "" {
		return wanted, wanted, err
	}
	roles, ours, err := c.roles(ctx, ch.GuildID)
	if err != nil {
		return 0, wanted, err
	}
	return reckon(&ch, roles, ours, c.me(ctx)) & wanted, wanted, nil
}

// reckon follows the platform's documentation, "Permission Overwrites": the server's roles, then the channel's
// overwrites for everyone, for our roles together, and for us.
func reckon(ch *discordgo.Channel, roles []*discordgo.Role, ours []string, me string) Right {
	mine := map[string]bool{ch.GuildID: true}
	for _, role := range ours {
		mine[role] = true
	}
	var rights int64
	for _, role := range roles {
		if role != nil && mine[role.ID] {
			rights |= role.Permissions
		}
	}
	if rights&discordgo.PermissionAdministrator != 0 {
		return Posting | SendInThreads
	}
	var allow, deny [3]int64 // everyone, our roles, ourselves
	for _, o := range ch.PermissionOverwrites {
		if o == nil {
			continue
		}
		level := map[bool]int{true: 0, false: 1}[o.ID == ch.GuildID]
		if o.ID == me {
			level = 2
		} else if !mine[o.ID] {
			continue
		}
		allow[level] |= o.Allow
		deny[level] |= o.Deny
	}
	for level := range allow {
		rights = rights&^deny[level] | allow[level]
	}
	if rights&discordgo.PermissionViewChannel == 0 {
		return 0
	}
	return Right(rights)
}

// Writable gives the first channel of a server, in the server's own order, where a message can be posted; "" if none.
func (c *Connection) Writable(ctx context.Context, server string) (channel string, err error) {
	channels, err := get[[]*discordgo.Channel](ctx, c, discordgo.EndpointGuildChannels(server))
	if err != nil {
		return "", err
	}
	slices.SortStableFunc(channels, func(a, b *discordgo.Channel) int { return cmp.Compare(a.Position, b.Position) })
	roles, ours, err := c.roles(ctx, server)
	if err != nil {
		return "", err
	}
	const needed = ViewChannel | SendMessages | EmbedLinks
	for _, ch := range channels {
		text := ch.Type == discordgo.ChannelTypeGuildText
		if text && reckon(ch, roles, ours, c.me(ctx))&needed == needed {
			return ch.ID, nil
		}
	}
	return "", nil
}

// roles gives the roles of a server, and the ids of ours.
func (c *Connection) roles(ctx context.Context, server string) (all []*discordgo.Role, ours []string, err error) {
	all, err = get[[]*discordgo.Role](ctx, c, discordgo.EndpointGuildRoles(server))
	if err != nil {
		return nil, nil, err
	}
	member, err := get[discordgo.Member](ctx, c, discordgo.EndpointGuildMember(server, c.me(ctx)))
	return all, member.Roles, err
}

// Invite gives the link by which a steward adds the bot to a server, with exactly the scopes and rights it needs.
func (c *Connection) Invite(ctx context.Context) (string, error) {
	application, err := get[discordgo.Application](ctx, c, discordgo.EndpointApplications+"/@me")
	if refusal, ok := errors.AsType[*Refusal](err); ok && final(refusal.Status) != nil {
		return "", final(refusal.Status)
	}
	if err != nil {
		return "", fault.New(fault.Later, "Discord cannot be reached. Look whether this machine is connected, and try again.").Because(err)
	}
	query := url.Values{
		"client_id":   {application.ID},
		"scope":       {"bot applications.commands"},
		"permissions": {strconv.FormatInt(int64(Posting|SendInThreads), 10)},
	}
	return "https://discord.com/oauth2/authorize?" + query.Encode(), nil
}

// readable gives ErrUnknowable unless the channel's history can be read.
func (c *Connection) readable(ctx context.Context, channel string) error {
	rights, _, err := c.Rights(ctx, channel)
	if err == nil && rights&ReadHistory == 0 {
		err = ErrUnknowable
	}
	return err
}

// me gives the bot's own id: told at READY, or asked for before.
func (c *Connection) me(ctx context.Context) string {
	c.mu.Lock()
	self := c.self
	c.mu.Unlock()
	if self != "" {
		return self
	}
	me, err := get[discordgo.User](ctx, c, discordgo.EndpointUser("@me"))
	if err != nil {
		c.log.Warn("asking for the bot's own id", "err", err)
		return ""
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.self = me.ID
	return me.ID
}
