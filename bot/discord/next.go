package discord

import (
	"context"
	"fmt"

	"github.com/bwmarrin/discordgo"

	"shortday/bot"
)

// What a message takes: rows, buttons in one, options of a menu, and characters of their labels.
const (
	mostRows    = 5
	mostButtons = 5
	mostOptions = 25
	buttonLabel = 80
	optionLabel = 100
)

// offer makes the rows of what is offered next: up to five as buttons, more as menus.
func (a *Adapter) offer(ctx context.Context, sign string, next []bot.Next, k Kept) ([]discordgo.ActionsRow, error) {
	type offered struct{ label, id string }
	var list []offered
	taken := map[string]bool{}
	for _, n := range next {
		k.Request = n.Request
		id, err := a.name(ctx, sign, k)
		if err != nil {
			return nil, fmt.Errorf("keeping what a button stands for: %w", err)
		}
		if !taken[n.Request] {
			list = append(list, offered{n.Label, id})
		}
		taken[n.Request] = true
	}
	if len(list) == 0 {
		return nil, nil
	}
	if len(list) <= mostButtons {
		var row discordgo.ActionsRow
		for i, o := range list {
			style := discordgo.SecondaryButton
			if i == 0 {
				style = discordgo.PrimaryButton
			}
			row.Components = append(row.Components, discordgo.Button{Label: shorten(o.label, buttonLabel), Style: style, CustomID: o.id})
		}
		return []discordgo.ActionsRow{row}, nil
	}
	var rows []discordgo.ActionsRow
	for n := 0; len(list) > 0 && n < mostRows; n++ {
		menu := discordgo.SelectMenu{CustomID: fmt.Sprint(menuSign, n), Placeholder: "What next?"}
		if n > 0 {
			menu.Placeholder = fmt.Sprintf("What next? (%d)", n+1)
		}
		for _, o := range list[:min(len(list), mostOptions)] {
			menu.Options = append(menu.Options, discordgo.SelectMenuOption{Label: shorten(o.label, optionLabel), Value: o.id})
		}
		list = list[len(menu.Options):]
		rows = append(rows, discordgo.ActionsRow{Components: []discordgo.MessageComponent{menu}})
	}
	return rows, nil
}

// put adds rows to a message.
func (m *message) put(rows []discordgo.ActionsRow) {
	for _, row := range rows {
		m.Components = append(m.Components, row)
	}
}
