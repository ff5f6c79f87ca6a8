package discordtest

import (
	"slices"
	"strings"
)

// User is a person, or the bot itself.
type User struct {
	ID, Name string
	bot      bool
	closed   bool // takes no direct messages
	s        *Service
}

// CloseDirect makes the user refuse direct messages, or take them again.
func (u *User) CloseDirect(closed bool) {
	u.s.mu.Lock()
	defer u.s.mu.Unlock()
	u.closed = closed
}

func (u *User) json() userJSON {
	return userJSON{ID: u.ID, Username: strings.ToLower(u.Name), Discriminator: "0", GlobalName: u.Name, Bot: u.bot}
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
