package main

import (
	"cmp"

	"shortday/bot/discord"
)

// account is as whom, and where, Discord is spoken to.
type account struct {
	Token string `placeholder:"TOKEN" help:"The bot's token. Without it $$SHORTDAY_TOKEN, which others on this machine cannot read."`
	URL   string `name:"discord-url" placeholder:"URL" help:"Another address than Discord's own: a proxy's, or a test service's. Without it $$SHORTDAY_DISCORD_URL."`
}

func (a *account) options(p *program) discord.Options {
	return discord.Options{
		Token: cmp.Or(a.Token, p.getenv("SHORTDAY_TOKEN")),
		URL:   cmp.Or(a.URL, p.getenv("SHORTDAY_DISCORD_URL")),
		Now:   p.now,
		Log:   p.log,
	}
}
