package discordtest

import (
	"slices"
	"strconv"
	"strings"
)

// Callable is a request that a client offers: a command, or one of its subcommands.
type Callable struct {
	Path   string // as "/stock add"
	Help   string
	Fields []CommandOption
}

// Callables are all that can be asked, in the order in which it was registered.
func (s *Service) Callables() []Callable {
	var list []Callable
	var walk func(path, help string, options []CommandOption)
	walk = func(path, help string, options []CommandOption) {
		if len(options) == 0 || options[0].Type > optionGroup {
			list = append(list, Callable{Path: path, Help: help, Fields: options})
			return
		}
		for _, o := range options {
			walk(path+" "+o.Name, o.Description, o.Options)
		}
	}
	for _, c := range s.Commands() {
		walk("/"+c.Name, c.Description, c.Options)
	}
	return list
}

// Kind says in a word what a field takes.
func (o CommandOption) Kind() string {
	return map[int]string{
		optionString: "text", optionInteger: "whole", optionNumber: "number", optionBoolean: "yes", optionUser: "member",
		optionChannel: "channel", optionRole: "role", optionFile: "file",
	}[o.Type]
}

// Text gives the choice's value as it would be typed.
func (c Choice) Text() string {
	if text, isText := textOf(c.Value); isText {
		return text
	}
	return string(c.Value)
}

// Kind says in a word what a component of a message is.
func (c Component) Kind() string {
	if c.Type == button && c.Style == linkStyle {
		return "link"
	}
	return map[int]string{button: "button", menu: "menu", userMenu: "member", roleMenu: "role", channelMenu: "channel"}[c.Type]
}

// Long tells of a form's input whether it takes several lines, and Needed whether it must be filled in.
func (c Component) Long() bool { return c.Style == 2 }

// Needed tells whether a form's input must be filled in.
func (c Component) Needed() bool { return c.Required == nil || *c.Required }

// sees tells whether a message is shown to a user; the caller holds the lock.
func (s *Service) sees(u *User, m *Message) bool {
	if m.Private && m.For != u.ID {
		return false
	}
	c := s.channels[m.Channel]
	if c == nil {
		return false
	}
	return c.guild == nil && c.user == u || c.guild != nil && c.guild.member(u.ID) != nil
}

// Seen gives the newest messages of a channel that a user sees, oldest first, and how many more there are.
func (c *Channel) Seen(u *User, most int) (list []Message, more int) {
	s := c.service()
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, m := range s.messages {
		if m.Channel == c.ID && s.sees(u, m) {
			list = append(list, m.copy())
		}
	}
	more = max(0, len(list)-most)
	return list[more:], more
}

// Message gives a message by its id, if the user sees it.
func (s *Service) Message(id string, u *User) (Message, bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, m := range s.messages {
		if m.ID == id && s.sees(u, m) {
			return m.copy(), true
		}
	}
	return Message{}, false
}

// copy gives the message as it is now, whatever is changed in it later.
func (m *Message) copy() Message {
	now := *m
	now.Attachments = slices.Clone(m.Attachments)
	return now
}

// Asked gives who asked what, where the message is an answer; else nil.
func (m Message) Asked() (by *User, what string) {
	if m.owner == nil {
		return nil, ""
	}
	return m.owner.by.User, m.owner.said
}

// Foreign tells whether somebody else than the bot wrote the message.
func (m Message) Foreign() bool { return m.foreign }

// Manages tells whether the member may manage the server.
func (m *Member) Manages() bool {
	m.guild.s.mu.Lock()
	defer m.guild.s.mu.Unlock()
	return m.own.rights&(ManageServer|Administrator) != 0
}

// Guild gives the server that the member is in; nil in a direct channel.
func (m *Member) Guild() *Guild { return m.guild }

// Roles are the server's roles that AddRole made.
func (g *Guild) Roles() []*Role {
	g.s.mu.Lock()
	defer g.s.mu.Unlock()
	return slices.DeleteFunc(slices.Clone(g.roles), func(r *Role) bool {
		return slices.ContainsFunc(g.members, func(m *Member) bool { return m.own == r })
	})
}

// called gives the name of a member, a channel or a role by its id, and of all else what was typed.
func (g *Guild) called(kind int, typed string) string {
	if g == nil {
		return typed
	}
	switch kind {
	case optionUser:
		if m := g.member(typed); m != nil {
			return m.nick
		}
	case optionChannel:
		if c := g.s.channels[typed]; c != nil {
			return "#" + c.Name
		}
	case optionRole:
		for _, r := range g.roles {
			if r.ID == typed {
				return "@" + r.Name
			}
		}
	}
	return typed
}

// Settle makes a server with channels, under the id that it had in an earlier run; "" gives it a new one. The channels'
// ids follow the server's, so that they are the earlier ones too.
func (s *Service) Settle(id, name string, channels ...string) *Guild {
	s.mu.Lock()
	defer s.mu.Unlock()
	if id == "" {
		id = s.newID()
	}
	g := &Guild{ID: id, Name: name, s: s, rights: Posting}
	next, _ := strconv.ParseUint(id, 10, 64)
	for _, channel := range channels {
		next++
		c := &Channel{ID: strconv.FormatUint(next, 10), Name: strings.TrimPrefix(channel, "#"), guild: g}
		g.channels = append(g.channels, c)
		s.channels[c.ID] = c
	}
	s.lastID = max(s.lastID, next)
	s.guilds = append(s.guilds, g)
	s.dispatch(g, "GUILD_CREATE", g.created())
	return g
}

// Return puts a person in the server under the id that they had in an earlier run.
func (g *Guild) Return(id, name string, rights Right) *Member {
	g.s.mu.Lock()
	u := g.s.users[id]
	if u == nil {
		u = &User{ID: id, Name: name, s: g.s}
		g.s.users[id] = u
	}
	g.s.mu.Unlock()
	return g.Join(u, rights)
}
