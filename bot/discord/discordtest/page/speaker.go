package page

import (
	"net/http"
	"slices"
	"strings"

	"shortday/bot/discord/discordtest"
	"shortday/knowledge/fault"
)

// direct is the place of the direct messages between the bot and whoever speaks.
const direct = "direct"

// keyOf names a member of a server to the page.
func keyOf(g *discordtest.Guild, m *discordtest.Member) string { return g.ID + "." + m.User.ID }

// speaker finds a member by their key.
func (p *Page) speaker(key string) (*discordtest.Guild, *discordtest.Member, error) {
	server, user, _ := strings.Cut(key, ".")
	for _, g := range p.service.Guilds() {
		members := g.Members()
		at := slices.IndexFunc(members, func(m *discordtest.Member) bool { return m.User.ID == user })
		if g.ID == server && at >= 0 {
			return g, members[at], nil
		}
	}
	return nil, nil, fault.New(fault.Missing, "Nobody of that name is here any more. Choose who speaks.")
}

// place finds where a member speaks, and gives them as they are there: in direct messages a member of no server.
func (p *Page) place(r *http.Request) (*discordtest.Member, *discordtest.Channel, error) {
	g, m, err := p.speaker(r.FormValue("as"))
	if err != nil {
		return nil, nil, err
	}
	in := r.FormValue("in")
	if in == direct {
		return m.User.In(), m.User.Direct(), nil
	}
	channels := g.Channels()
	at := slices.IndexFunc(channels, func(c *discordtest.Channel) bool { return c.ID == in })
	if at < 0 {
		return nil, nil, fault.New(fault.Missing, "That channel is gone. Choose another place.")
	}
	return m, channels[at], nil
}
