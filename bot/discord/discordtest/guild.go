package discordtest

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
)

// applicationID is the bot's application and user id, which are one and the same for a newer bot.
const applicationID = "1147000000000000001"

// Guild is a server.
type Guild struct {
	ID, Name string
	s        *Service
	owner    string
	rights   Right // the bot's, in the whole server
	channels []*Channel
	members  []*Member
	roles    []*Role
	out      bool // unavailable
}

// Role is a role of a server.
type Role struct {
	ID, Name string
	guild    *Guild
	rights   Right
}

// AddGuild makes a server the bot is in, with every right it needs to post, and tells the links.
func (s *Service) AddGuild(name string) *Guild {
	s.mu.Lock()
	defer s.mu.Unlock()
	g := &Guild{ID: s.newID(), Name: name, s: s, rights: Posting}
	s.guilds = append(s.guilds, g)
	s.dispatch(g, "GUILD_CREATE", g.created())
	return g
}

// AddRole makes a role and gives it to those members.
func (g *Guild) AddRole(name string, members ...*Member) *Role {
	g.s.mu.Lock()
	defer g.s.mu.Unlock()
	r := &Role{ID: g.s.newID(), Name: name, guild: g}
	g.roles = append(g.roles, r)
	for _, m := range members {
		m.roles = append(m.roles, r.ID)
	}
	return r
}

// Deny takes rights in the whole server from the bot.
func (g *Guild) Deny(rights Right) {
	g.s.mu.Lock()
	defer g.s.mu.Unlock()
	g.rights &^= rights
}

// Remove takes the bot out of the server.
func (g *Guild) Remove() {
	g.s.mu.Lock()
	defer g.s.mu.Unlock()
	g.s.guilds = slices.DeleteFunc(g.s.guilds, func(o *Guild) bool { return o == g })
	g.s.dispatch(g, "GUILD_DELETE", encode(unavailable{ID: g.ID}))
}

// Fail makes the server unavailable, as an outage does; Recover ends that.
func (g *Guild) Fail() {
	g.s.mu.Lock()
	defer g.s.mu.Unlock()
	g.out = true
	g.s.dispatch(g, "GUILD_DELETE", encode(unavailable{ID: g.ID, Unavailable: true}))
}

// Recover makes the server available again.
func (g *Guild) Recover() {
	g.s.mu.Lock()
	defer g.s.mu.Unlock()
	g.out = false
	g.s.dispatch(g, "GUILD_CREATE", g.created())
}

func (g *Guild) me() memberJSON {
	user := g.s.users[applicationID].json()
	return memberJSON{
		User: &user, Deaf: new(bool), Mute: new(bool), Roles: []string{}, JoinedAt: time.Unix(1_700_000_000, 0).UTC(),
	}
}

// roleList gives the server's roles: @everyone, which has the server's own id, carries the bot's rights.
func (g *Guild) roleList() []roleJSON {
	list := []roleJSON{{ID: g.ID, Name: "@everyone", Permissions: bits(g.rights)}}
	for i, r := range g.roles {
		list = append(list, roleJSON{ID: r.ID, Name: r.Name, Position: i + 1, Permissions: bits(r.rights)})
	}
	return list
}

func (g *Guild) channelList() []channelJSON {
	list := make([]channelJSON, 0, len(g.channels))
	for _, c := range g.channels {
		list = append(list, c.json())
	}
	return list
}

func (g *Guild) created() []byte {
	return encode(guildJSON{
		ID: g.ID, Name: g.Name, OwnerID: cmp.Or(g.owner, "1"), Locale: "en-GB", JoinedAt: g.s.opts.Dated().UTC(), MemberCount: len(g.members) + 1,
		Channels: g.channelList(), Roles: g.roleList(), Members: []memberJSON{g.me()},
	})
}

func (s *Service) guild(id string) *Guild {
	i := slices.IndexFunc(s.guilds, func(g *Guild) bool { return g.ID == id })
	if i < 0 {
		return nil
	}
	return s.guilds[i]
}

func (g *Guild) member(id string) *Member {
	i := slices.IndexFunc(g.members, func(m *Member) bool { return m.User.ID == id })
	if i < 0 {
		return nil
	}
	return g.members[i]
}

// Guilds are the servers that the bot is in.
func (s *Service) Guilds() []*Guild {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.guilds)
}

// Channels are the server's text channels.
func (g *Guild) Channels() []*Channel {
	g.s.mu.Lock()
	defer g.s.mu.Unlock()
	return slices.Clone(g.channels)
}

// Members are the people in the server.
func (g *Guild) Members() []*Member {
	g.s.mu.Lock()
	defer g.s.mu.Unlock()
	return slices.Clone(g.members)
}

// find names the thing a resolved option points at: a user, a channel or a role of the guild by its name or id.
func (g *Guild) find(kind int, name string) (string, error) {
	switch kind {
	case optionUser:
		for _, m := range g.members {
			if name == m.User.ID || name == m.User.Name || name == m.nick {
				return m.User.ID, nil
			}
		}
	case optionChannel:
		for _, c := range g.channels {
			if name == c.ID || strings.TrimPrefix(name, "#") == c.Name {
				return c.ID, nil
			}
		}
	case optionRole:
		for _, r := range g.roles {
			if name == r.ID || name == r.Name {
				return r.ID, nil
			}
		}
	default:
		return "", errors.New("only users, channels and roles are found by name")
	}
	return "", fmt.Errorf("%s has no such thing as %q", g.Name, name)
}
