package main

import (
	"fmt"

	"shortday/bot/discord"
)

// invite prints the link that adds the bot to a server.
type invite struct {
	account
}

// Run asks Discord which application the token is of.
func (i *invite) Run(p *program) error {
	conn, err := discord.New(i.options(p))
	if err != nil {
		return err
	}
	link, err := conn.Invite(p)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintln(p.stdout, link)
	return err
}
