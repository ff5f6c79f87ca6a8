package discordtest

import "slices"

// Channel is a text channel of a server, a thread in one, or a direct one.
type Channel struct {
	ID, Name string
	guild    *Guild
	user     *User    // of a direct channel
	parent   *Channel // of a thread
	denied   Right    // to the bot
	hidden   bool     // from all but the bot and
	seenBy   []*Role
	gone     bool
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

// Deny takes rights in this one channel from the bot; Deny(0) gives all back.
func (c *Channel) Deny(rights Right) {
	c.guild.s.mu.Lock()
	defer c.guild.s.mu.Unlock()
	c.denied = rights
}

// Hide lets nobody see the channel but the bot and those with one of the roles.
func (c *Channel) Hide(but ...*Role) {
	c.guild.s.mu.Lock()
	defer c.guild.s.mu.Unlock()
	c.hidden, c.seenBy = true, but
}

// Delete removes the channel.
func (c *Channel) Delete() {
	c.guild.s.mu.Lock()
	defer c.guild.s.mu.Unlock()
	c.gone = true
	delete(c.guild.s.channels, c.ID)
	c.guild.channels = slices.DeleteFunc(c.guild.channels, func(o *Channel) bool { return o == c })
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

func (c *Channel) json() channelJSON {
	if c.guild == nil {
		return channelJSON{ID: c.ID, Type: 1, Recipients: []userJSON{c.user.json()}}
	}
	j := channelJSON{ID: c.ID, GuildID: c.guild.ID, Name: c.Name, Position: new(int)}
	if c.parent != nil {
		j.Type, j.ParentID = 11, c.parent.ID
		return j
	}
	var shown Right
	if c.hidden {
		shown = ViewChannel
		j.Overwrites = append(j.Overwrites, overwriteJSON{ID: c.guild.ID, Allow: "0", Deny: bits(ViewChannel)})
		for _, role := range c.seenBy {
			j.Overwrites = append(j.Overwrites, overwriteJSON{ID: role.ID, Allow: bits(ViewChannel), Deny: "0"})
		}
	}
	if shown|c.denied != 0 {
		j.Overwrites = append(j.Overwrites, overwriteJSON{ID: applicationID, Type: 1, Allow: bits(shown &^ c.denied), Deny: bits(c.denied)})
	}
	return j
}
