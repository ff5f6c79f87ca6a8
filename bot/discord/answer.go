package discord

import (
	"context"
	"errors"

	"github.com/bwmarrin/discordgo"

	"shortday/bot"
	"shortday/knowledge/fault"
)

// send renders a reply and sends it. After a form that was refused, another offers to change what was filled in.
func (a *Adapter) send(ctx context.Context, t *Turn, ask bot.Ask, r bot.Reply) error {
	private := r.Private && !ask.Direct
	k, reader := Kept{Coop: ask.Coop.Key}, ""
	if r.Private {
		k.Who = ask.Who.Key
	}
	if r.Private || ask.Direct {
		reader = ask.Who.Key
	}
	messages := render(a.named(ctx, ask.Coop.Key, reader, r), mostCards)
	rows, err := a.offer(ctx, askSign, r.Next, k)
	if err != nil {
		return a.fail(ctx, t, err)
	}
	if label := a.reopens(t, ask, r, rows); label != "" {
		k.Request, k.Who = ask.String(), ask.Who.Key
		id, err := a.name(ctx, changeSign, k)
		if err != nil {
			return a.fail(ctx, t, err)
		}
		button := discordgo.Button{Label: label, Style: discordgo.SecondaryButton, CustomID: id}
		rows = append(rows, discordgo.ActionsRow{Components: []discordgo.MessageComponent{button}})
	}
	messages[len(messages)-1].put(rows)
	err = t.send(ctx, messages, private)
	if err == nil && a.closed(ctx, ask) {
		err = t.note(ctx, paused)
	}
	return err
}

// reopens gives what a button that opens a form is called, "" where there is to be none: after a form that was refused,
// to change what was filled in, and after a request that shows what is set when nothing is told.
func (a *Adapter) reopens(t *Turn, ask bot.Ask, r bot.Reply, rows []discordgo.ActionsRow) string {
	asked, _ := a.desk.Request(ask.Request)
	switch {
	case len(rows) == mostRows:
		return ""
	case r.Refusal != nil && r.Refusal.Kind == fault.Unclear && t.Interaction.Type == discordgo.InteractionModalSubmit:
		return "Change it"
	case r.Refusal == nil && len(asked.Form) > 0 && len(ask.Fields) == 0:
		return "Fill in a form"
	}
	return ""
}

// refuse says why a request is not answered.
func (a *Adapter) refuse(ctx context.Context, t *Turn, ask bot.Ask, err error) error {
	refusal, ok := errors.AsType[*fault.Error](err)
	if !ok {
		return a.fail(ctx, t, err)
	}
	return a.send(ctx, t, ask, bot.Reply{Private: true, Refusal: &bot.Refusal{Kind: refusal.Kind, Text: refusal.Text}})
}

// fail says that something failed on our side, and logs it.
func (a *Adapter) fail(ctx context.Context, t *Turn, err error) error {
	a.wrong(ctx, "answering", err)
	return t.Say(ctx, failed, true)
}

// wrong logs what failed on our side. What the end of the program cut short did not fail.
func (a *Adapter) wrong(ctx context.Context, what string, err error) {
	if !errors.Is(ctx.Err(), context.Canceled) {
		a.log.Error(what, "err", err)
	}
}
