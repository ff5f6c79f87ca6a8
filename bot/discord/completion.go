package discord

import (
	"context"
	"strconv"
	"strings"

	"github.com/bwmarrin/discordgo"

	"shortday/bot"
)

// complete offers what a field may become.
func (a *Adapter) complete(ctx context.Context, t *Turn, ask bot.Ask, focus string) error {
	var typed string
	for _, e := range ask.Fields {
		if e.Field == focus {
			typed = e.Text
		}
	}
	if ask.Direct {
		if coops := a.coops(ctx, ask.Who.Key); len(coops) == 1 && a.there(ctx, coops[0].Key, ask.Who.Key) {
			ask.Coop = coops[0]
		}
	}
	r, _ := a.desk.Request(ask.Request)
	f, _ := r.Field(focus)
	choices := []*discordgo.ApplicationCommandOptionChoice{}
	for _, c := range a.desk.Complete(ctx, ask, focus, typed) {
		if choice, ok := completion(f, c); ok {
			choices = append(choices, choice)
		}
	}
	return t.complete(ctx, choices)
}

// completion makes one of a field's completions; a value that Discord does not take is left out.
func completion(f bot.Field, c bot.Choice) (*discordgo.ApplicationCommandOptionChoice, bool) {
	choice := &discordgo.ApplicationCommandOptionChoice{Name: shorten(strings.TrimSpace(c.Label), optionLabel), Value: c.Value}
	if choice.Name == "" {
		choice.Name = shorten(c.Value, optionLabel)
	}
	if f.Kind == bot.WholeKind || f.Kind == bot.NumberKind {
		n, err := strconv.ParseFloat(c.Value, 64)
		choice.Value = n
		return choice, err == nil
	}
	return choice, c.Value != "" && length(c.Value) <= optionLabel
}
