package discord

import (
	"context"
	"errors"
	"slices"

	"github.com/bwmarrin/discordgo"

	"shortday/bot"
)

// standing is what a person is in a server.
type standing struct {
	there   bool
	manages bool // may manage the server, by a role or as its owner
	name    string
	roles   []string
}

// standing asks for the one person, which needs no privileged intent, and reckons their rights in the whole server as the
// platform's documentation does, "Permissions".
func (c *Connection) standing(ctx context.Context, server, person string) (standing, error) {
	member, there, err := c.member(ctx, server, person)
	if !there {
		return standing{}, err
	}
	home, err := get[discordgo.Guild](ctx, c, discordgo.EndpointGuild(server))
	if err != nil {
		return standing{}, err
	}
	s := standing{there: true, manages: home.OwnerID == person, roles: member.Roles}
	if member.User != nil {
		s.name = nameOf(&member, member.User)
	}
	for _, role := range home.Roles {
		if role != nil && (role.ID == server || slices.Contains(member.Roles, role.ID)) {
			s.manages = s.manages || manages(role.Permissions)
		}
	}
	return s, nil
}

// member gives one person of a server, if they are there. ErrRemoved says that we are not, so that nothing is known of them.
func (c *Connection) member(ctx context.Context, server, person string) (m discordgo.Member, there bool, err error) {
	m, err = get[discordgo.Member](ctx, c, discordgo.EndpointGuildMember(server, person))
	refusal, refused := errors.AsType[*Refusal](err)
	switch {
	case refused && (refusal.Code == discordgo.ErrCodeUnknownGuild || errors.Is(err, ErrLacking)):
		return m, false, ErrRemoved
	case errors.Is(err, ErrGone):
		return m, false, nil
	}
	return m, err == nil, err
}

// Present tells whether a person is in a server. It fails with ErrRemoved where we are not.
func (c *Connection) Present(ctx context.Context, server, person string) (bool, error) {
	_, there, err := c.member(ctx, server, person)
	return there, err
}

// owner gives the owner of a server.
func (c *Connection) owner(ctx context.Context, server string) (string, error) {
	home, err := get[discordgo.Guild](ctx, c, discordgo.EndpointGuild(server))
	return home.OwnerID, err
}

func manages(rights int64) bool {
	return rights&(discordgo.PermissionManageGuild|discordgo.PermissionAdministrator) != 0
}

// settle makes a co-op the one that a direct message means. There Discord tells no rights, and nothing of who left: it
// is asked for the one person. The text is why they may not ask. A co-op whose server removed us is none that can be meant,
// also before we were told of that.
func (a *Adapter) settle(ctx context.Context, ask *bot.Ask, coop bot.Party) (refusal string, err error) {
	s, err := a.conn.standing(ctx, coop.Key, ask.Who.Key)
	if errors.Is(err, ErrRemoved) {
		ask.Coop = bot.Party{}
		return "", nil
	}
	if err != nil {
		return "", err
	}
	if !s.there {
		if a.homes.Away != nil {
			err = a.homes.Away(ctx, coop.Key, ask.Who.Key)
		}
		return "You are no longer in the server of " + plain(coop.Name) + ", so its requests are closed to you. Ask to be invited again, or ask a steward there to have what is yours removed.", err
	}
	ask.Coop, ask.Governed = coop, true
	if s.name != "" {
		ask.Who.Name = s.name
	}
	ask.Steward, err = a.steward(ctx, coop.Key, s.manages, s.roles)
	return "", err
}

// steward tells who makes a steward: the right to manage the server, or the role that the co-op named for it.
func (a *Adapter) steward(ctx context.Context, coop string, manages bool, roles []string) (bool, error) {
	if manages || a.homes.Steward == nil || len(roles) == 0 {
		return manages, nil
	}
	return a.homes.Steward(ctx, coop, roles)
}

// which asks which of a person's co-ops is meant.
func (a *Adapter) which(ctx context.Context, t *Turn, ask bot.Ask, coops []bot.Party) error {
	menu := discordgo.SelectMenu{CustomID: menuSign, Placeholder: "Which co-op?"}
	for _, c := range coops[:min(len(coops), mostOptions)] {
		id, err := a.name(ctx, coopSign, Kept{Request: ask.String(), Coop: c.Key, Who: ask.Who.Key})
		if err != nil {
			return a.fail(ctx, t, err)
		}
		menu.Options = append(menu.Options, discordgo.SelectMenuOption{Label: shorten(c.Name, optionLabel), Value: id})
	}
	m := message{Content: "You belong to several co-ops. Which one do you mean?"}
	if len(coops) > mostOptions {
		m.Content += " These are the first 25; for another, ask in its own server."
	}
	m.put([]discordgo.ActionsRow{{Components: []discordgo.MessageComponent{menu}}})
	return t.send(ctx, []message{m}, false)
}
