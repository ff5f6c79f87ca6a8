package discordtest

import (
	"slices"
	"time"
)

// Member is a user in a server.
type Member struct {
	User  *User
	guild *Guild
	own   *Role // carries the rights given to them alone
	nick  string
	roles []string
}

// AddMember makes a new user and puts them in the server with those rights besides the ordinary ones.
func (g *Guild) AddMember(name string, rights Right) *Member {
	g.s.mu.Lock()
	u := &User{ID: g.s.newID(), Name: name, s: g.s}
	g.s.users[u.ID] = u
	g.s.mu.Unlock()
	return g.Join(u, rights)
}

// Join puts a user of another server in this one too.
func (g *Guild) Join(u *User, rights Right) *Member {
	g.s.mu.Lock()
	defer g.s.mu.Unlock()
	m := &Member{User: u, guild: g, nick: u.Name}
	m.own = &Role{ID: g.s.newID(), Name: "the rights of " + u.Name, guild: g, rights: rights}
	g.roles = append(g.roles, m.own)
	g.members = append(g.members, m)
	g.s.touch()
	return m
}

// Allow gives the member exactly these rights besides the ordinary ones, by a role of theirs alone.
func (m *Member) Allow(rights Right) {
	m.guild.s.mu.Lock()
	defer m.guild.s.mu.Unlock()
	m.own.rights = rights
	m.guild.s.touch()
}

// may gives the member's rights in the whole server.
func (m *Member) may() Right { return m.own.rights | Posting }

// Own makes the member the server's owner, who has every right.
func (m *Member) Own() {
	m.guild.s.mu.Lock()
	defer m.guild.s.mu.Unlock()
	m.guild.owner = m.User.ID
}

// Leave takes a member out of their server.
func (m *Member) Leave() {
	m.guild.s.mu.Lock()
	defer m.guild.s.mu.Unlock()
	m.guild.members = slices.DeleteFunc(m.guild.members, func(o *Member) bool { return o == m })
}

// Rename gives the member another name in this server.
func (m *Member) Rename(nick string) {
	m.guild.s.mu.Lock()
	defer m.guild.s.mu.Unlock()
	m.nick = nick
}

func (m *Member) json() memberJSON {
	roles := append([]string{}, m.roles...)
	if m.own.rights != 0 {
		roles = append(roles, m.own.ID)
	}
	user := m.User.json()
	return memberJSON{User: &user, Deaf: new(bool), Mute: new(bool), Nick: &m.nick, Roles: roles, JoinedAt: time.Unix(1_700_000_000, 0).UTC()}
}
