package discord

import (
	"context"
	"strings"

	"github.com/bwmarrin/discordgo"

	"shortday/bot"
)

// press answers a button or a menu.
func (a *Adapter) press(ctx context.Context, t *Turn, ask bot.Ask, d discordgo.MessageComponentInteractionData) error {
	id := d.CustomID
	if strings.HasPrefix(id, menuSign) {
		if len(d.Values) == 0 {
			return nil
		}
		id, d.Values = d.Values[0], nil
	}
	k, problem := a.meant(ctx, id, ask)
	if problem != "" {
		return t.Say(ctx, problem, true)
	}
	if ask.Direct && k.Coop != "" {
		ask.Coop = bot.Party{Key: k.Coop, Name: a.server(k.Coop)}
	}
	line, change := strings.CutPrefix(strings.TrimPrefix(k.Request, coopSign), changeSign)
	line, pick := strings.CutPrefix(line, pickSign)
	var field string
	if pick {
		field, line, _ = strings.Cut(line, " ")
	}
	var err error
	if ask.Request, ask.Fields, err = a.desk.Read(line); err != nil {
		return a.send(ctx, t, ask, a.desk.AnswerLine(ctx, ask, line))
	}
	if pick && len(d.Values) > 0 {
		ask.Fields = append(ask.Fields, bot.Entry{Field: field, Text: d.Values[0]})
	}
	if change {
		if opened, err := a.fill(ctx, t, ask, true); opened {
			return err
		}
	}
	return a.take(ctx, t, ask)
}

// submit answers a form.
func (a *Adapter) submit(ctx context.Context, t *Turn, ask bot.Ask, d discordgo.ModalSubmitInteractionData) error {
	k, problem := a.meant(ctx, d.CustomID, ask)
	if problem != "" {
		return t.Say(ctx, problem, true)
	}
	if ask.Direct && k.Coop != "" {
		ask.Coop = bot.Party{Key: k.Coop, Name: a.server(k.Coop)}
	}
	line := strings.TrimPrefix(k.Request, formSign)
	request, fields, err := a.desk.Read(line)
	if err != nil {
		return a.send(ctx, t, ask, a.desk.AnswerLine(ctx, ask, line))
	}
	ask.Request, ask.Fields = request, filled(fields, d)
	return a.take(ctx, t, ask)
}
