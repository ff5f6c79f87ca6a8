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
	member, err := get[discordgo.Member](ctx, c, discordgo.EndpointGuildMember(server, person))
	if errors.Is(err, ErrGone) || errors.Is(err, ErrLacking) { // also of a server that removed us
		return standing{}, nil
	}
	if err != nil {
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

// owner gives the owner of a server.
func (c *Connection) owner(ctx context.Context, server string) (string, error) {
	home, err := get[discordgo.Guild](ctx, c, discordgo.EndpointGuild(server))
	return home.OwnerID, err
}

func manages(rights int64) bool {
	return rights&(discordgo.PermissionManageGuild|discordgo.PermissionAdministrator) != 0
}

// settle makes a co-op the one that a direct message means. There Discord tells no rights, and nothing of who left: it
// is asked for the one person. The text is why they may not ask.
func (a *Adapter) settle(ctx context.Context, ask *bot.Ask, coop bot.Party) (refusal string, err error) {
	s, err := a.conn.standing(ctx, coop.Key, ask.Who.Key)
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
