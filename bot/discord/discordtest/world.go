package discordtest

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
)

// applicationID is the bot's application and user id, which are one and the same for a newer bot.
const applicationID = "1147000000000000001"

// Right is a bit of the platform's permissions.
type Right int64

// The rights that matter to a bot that posts, and the one that makes a steward.
const (
	Administrator Right = 1 << 3
	ManageServer  Right = 1 << 5
	ViewChannel   Right = 1 << 10
	SendMessages  Right = 1 << 11
	EmbedLinks    Right = 1 << 14
	AttachFiles   Right = 1 << 15
	ReadHistory   Right = 1 << 16
	SendInThreads Right = 1 << 38
	Posting             = ViewChannel | SendMessages | EmbedLinks | AttachFiles | ReadHistory | SendInThreads
)

// User is a person, or the bot itself.
type User struct {
	ID, Name string
	bot      bool
	closed   bool // takes no direct messages
	s        *Service
}

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

// Channel is a text channel of a server, a thread in one, or a direct one.
type Channel struct {
	ID, Name string
	guild    *Guild
	user     *User    // of a direct channel
	parent   *Channel // of a thread
	denied   Right    // to the bot
	gone     bool
}

// Member is a user in a server.
type Member struct {
	User  *User
	guild *Guild
	own   *Role // carries the rights given to them alone
	nick  string
	roles []string
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

// AddChannel makes a text channel.
func (g *Guild) AddChannel(name string) *Channel {
	g.s.mu.Lock()
	defer g.s.mu.Unlock()
	c := &Channel{ID: g.s.newID(), Name: name, guild: g}
	g.channels = append(g.channels, c)
	g.s.channels[c.ID] = c
	return c
}

// AddThread makes a thread in a channel, which has its channel's rights but for the one to write.
func (c *Channel) AddThread(name string) *Channel {
	c.guild.s.mu.Lock()
	defer c.guild.s.mu.Unlock()
	thread := &Channel{ID: c.guild.s.newID(), Name: name, guild: c.guild, parent: c}
	c.guild.s.channels[thread.ID] = thread
	return thread
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

// CloseDirect makes the user refuse direct messages, or take them again.
func (u *User) CloseDirect(closed bool) {
	u.s.mu.Lock()
	defer u.s.mu.Unlock()
	u.closed = closed
}

// Deny takes rights in the whole server from the bot.
func (g *Guild) Deny(rights Right) {
	g.s.mu.Lock()
	defer g.s.mu.Unlock()
	g.rights &^= rights
}

// Deny takes rights in this one channel from the bot; Deny(0) gives all back.
func (c *Channel) Deny(rights Right) {
	c.guild.s.mu.Lock()
	defer c.guild.s.mu.Unlock()
	c.denied = rights
}

// Delete removes the channel.
func (c *Channel) Delete() {
	c.guild.s.mu.Lock()
	defer c.guild.s.mu.Unlock()
	c.gone = true
	delete(c.guild.s.channels, c.ID)
	c.guild.channels = slices.DeleteFunc(c.guild.channels, func(o *Channel) bool { return o == c })
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

// may gives the bot's rights in the channel.
func (c *Channel) may() Right {
	if c.guild == nil {
		return Posting
	}
	if c.guild.rights&Administrator != 0 {
		return Posting | Administrator
	}
	if c.parent != nil { // in a thread one right stands for the other
		rights := c.parent.may() &^ SendMessages
		if rights&SendInThreads != 0 {
			rights |= SendMessages
		}
		return rights &^ c.denied
	}
	rights := c.guild.rights &^ c.denied
	if rights&ViewChannel == 0 {
		return 0
	}
	return rights
}

// The shapes in which the service tells of its world.
type (
	unavailable struct {
		ID          string `json:"id"`
		Unavailable bool   `json:"unavailable,omitempty"`
	}
	userJSON struct {
		ID            string  `json:"id"`
		Username      string  `json:"username"`
		Discriminator string  `json:"discriminator"`
		GlobalName    string  `json:"global_name"`
		Avatar        *string `json:"avatar"`
		Bot           bool    `json:"bot,omitempty"`
		PublicFlags   int     `json:"public_flags"`
		Flags         int     `json:"flags"`
	}
	memberJSON struct {
		User        *userJSON `json:"user,omitempty"` // not beside a value that names them
		Nick        *string   `json:"nick"`
		Avatar      *string   `json:"avatar"`
		Roles       []string  `json:"roles"`
		JoinedAt    time.Time `json:"joined_at"`
		Deaf        *bool     `json:"deaf,omitempty"`
		Mute        *bool     `json:"mute,omitempty"`
		Flags       int       `json:"flags"`
		Permissions string    `json:"permissions,omitempty"` // only within an interaction
	}
	roleJSON struct {
		ID          string  `json:"id"`
		Name        string  `json:"name"`
		Color       int     `json:"color"`
		Colors      colours `json:"colors"`
		Hoist       bool    `json:"hoist"`
		Position    int     `json:"position"`
		Permissions string  `json:"permissions"`
		Managed     bool    `json:"managed"`
		Mentionable bool    `json:"mentionable"`
		Flags       int     `json:"flags"`
	}
	colours struct {
		Primary   int  `json:"primary_color"`
		Secondary *int `json:"secondary_color"`
		Tertiary  *int `json:"tertiary_color"`
	}
	overwriteJSON struct {
		ID    string `json:"id"`
		Type  int    `json:"type"` // 0 role, 1 member
		Allow string `json:"allow"`
		Deny  string `json:"deny"`
	}
	channelJSON struct {
		ID          string          `json:"id"`
		Type        int             `json:"type"`
		GuildID     string          `json:"guild_id,omitempty"`
		ParentID    string          `json:"parent_id,omitempty"`
		Name        string          `json:"name,omitempty"`
		Position    *int            `json:"position,omitempty"`    // not of a direct one
		Permissions string          `json:"permissions,omitempty"` // only within an interaction
		Overwrites  []overwriteJSON `json:"permission_overwrites,omitempty"`
		Recipients  []userJSON      `json:"recipients,omitempty"`
	}
	guildJSON struct {
		ID          string        `json:"id"`
		Name        string        `json:"name"`
		OwnerID     string        `json:"owner_id"`
		Locale      string        `json:"preferred_locale"`
		JoinedAt    time.Time     `json:"joined_at"`
		Large       bool          `json:"large"`
		MemberCount int           `json:"member_count"`
		Channels    []channelJSON `json:"channels"`
		Roles       []roleJSON    `json:"roles"`
		Members     []memberJSON  `json:"members"`
	}
)

func (u *User) json() userJSON {
	return userJSON{ID: u.ID, Username: strings.ToLower(u.Name), Discriminator: "0", GlobalName: u.Name, Bot: u.bot}
}

func (m *Member) json() memberJSON {
	roles := append([]string{}, m.roles...)
	if m.own.rights != 0 {
		roles = append(roles, m.own.ID)
	}
	user := m.User.json()
	return memberJSON{User: &user, Deaf: new(bool), Mute: new(bool), Nick: &m.nick, Roles: roles, JoinedAt: time.Unix(1_700_000_000, 0).UTC()}
}

func (g *Guild) me() memberJSON {
	user := g.s.users[applicationID].json()
	return memberJSON{
		User: &user, Deaf: new(bool), Mute: new(bool), Roles: []string{}, JoinedAt: time.Unix(1_700_000_000, 0).UTC(),
	}
}

func (c *Channel) json() channelJSON {
	if c.guild == nil {
		return channelJSON{ID: c.ID, Type: 1, Recipients: []userJSON{c.user.json()}}
	}
	j := channelJSON{ID: c.ID, GuildID: c.guild.ID, Name: c.Name, Position: new(int)}
	if c.parent != nil {
		j.Type, j.ParentID = 11, c.parent.ID
		return j
	}
	if c.denied != 0 {
		j.Overwrites = append(j.Overwrites, overwriteJSON{ID: applicationID, Type: 1, Allow: "0", Deny: bits(c.denied)})
	}
	return j
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
		ID: g.ID, Name: g.Name, OwnerID: cmp.Or(g.owner, "1"), Locale: "en-GB", JoinedAt: g.s.opts.Now().UTC(), MemberCount: len(g.members) + 1,
		Channels: g.channelList(), Roles: g.roleList(), Members: []memberJSON{g.me()},
	})
}

func bits(r Right) string { return strconv.FormatInt(int64(r), 10) }

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

// directTo gives the direct channel between the bot and a user, made at first use; the caller holds the lock.
func (s *Service) directTo(u *User) *Channel {
	if c := s.direct[u.ID]; c != nil {
		return c
	}
	c := &Channel{ID: s.newID(), user: u}
	s.direct[u.ID], s.channels[c.ID] = c, c
	return c
}

// Direct gives the direct channel between the bot and a user.
func (u *User) Direct() *Channel {
	u.s.mu.Lock()
	defer u.s.mu.Unlock()
	return u.s.directTo(u)
}

// shares tells whether the bot is in a server with the user.
func (s *Service) shares(u *User) bool {
	return slices.ContainsFunc(s.guilds, func(g *Guild) bool { return g.member(u.ID) != nil })
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
