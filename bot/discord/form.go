package discord

import (
	"context"
	"errors"
	"slices"
	"strings"

	"github.com/bwmarrin/discordgo"

	"shortday/bot"
)

// What a form takes: inputs, and characters of its texts.
const (
	mostInputs  = 5
	formTitle   = 45
	formHint    = 100
	longestText = 4000
)

// picked tells the kinds of field that are chosen from Discord's own lists.
func picked(k bot.Kind) bool { return k == bot.MemberKind || k == bot.ChannelKind || k == bot.RoleKind }

// writable tells the kinds of field that can be written into a form.
func writable(k bot.Kind) bool { return !picked(k) && k != bot.FileKind }

// inputs gives the fields that a form asks for: those missing first, then, as there is room, those of the request's own
// form and the others. With all, those already filled in are among them. It gives none where not all that is missing fits.
func inputs(r bot.Request, filled []bot.Entry, all bool) []bot.Field {
	missing := r.Missing(filled)
	if len(missing) > mostInputs || slices.ContainsFunc(missing, func(f bot.Field) bool { return !writable(f.Kind) }) {
		return nil
	}
	list := missing
	for _, f := range slices.Concat(formFields(r), r.Fields) {
		asked := slices.ContainsFunc(list, func(m bot.Field) bool { return m.Name == f.Name })
		has := slices.ContainsFunc(filled, func(e bot.Entry) bool { return e.Field == f.Name })
		if len(list) < mostInputs && !asked && writable(f.Kind) && (all || !has) {
			list = append(list, f)
		}
	}
	return list
}

// formFields gives the fields of a request that are asked for first.
func formFields(r bot.Request) []bot.Field {
	var list []bot.Field
	for _, name := range r.Form {
		if f, ok := r.Field(name); ok {
			list = append(list, f)
		}
	}
	return list
}

// form makes the form for a request as far as it is filled in.
func (a *Adapter) form(ctx context.Context, ask bot.Ask, fields []bot.Field) (form, error) {
	k := Kept{Request: ask.String(), Coop: ask.Coop.Key, Who: ask.Who.Key}
	id, err := a.name(ctx, formSign, k)
	if err != nil {
		return form{}, err
	}
	f := form{CustomID: id, Title: shorten(ask.Request, formTitle)}
	for _, field := range fields {
		in := discordgo.TextInput{
			CustomID: field.Name, Label: shorten(field.Name, formTitle), Style: discordgo.TextInputShort,
			Placeholder: shorten(hint(field), formHint), Required: field.Required, MaxLength: longestText,
		}
		if field.Kind == bot.LongTextKind {
			in.Style = discordgo.TextInputParagraph
		}
		if field.Kind == bot.TextKind && field.Max != nil {
			in.MaxLength = min(int(*field.Max), longestText)
		}
		for _, e := range ask.Fields {
			if e.Field == field.Name && e.Text != bot.AskDay {
				in.Value = shorten(e.Text, in.MaxLength)
			}
		}
		f.Components = append(f.Components, discordgo.ActionsRow{Components: []discordgo.MessageComponent{in}})
	}
	return f, nil
}

// hint says what a field takes.
func hint(f bot.Field) string {
	if len(f.Choices) == 0 {
		return f.Help
	}
	var labels []string
	for _, c := range f.Choices {
		labels = append(labels, c.Value)
	}
	return f.Help + ": " + strings.Join(labels, ", ")
}

// filled gives the fields of a request with those of a form put in. An input left empty takes its field out.
func filled(fields []bot.Entry, d discordgo.ModalSubmitInteractionData) []bot.Entry {
	for _, row := range d.Components {
		r, ok := row.(*discordgo.ActionsRow)
		if !ok || r == nil {
			continue
		}
		for _, in := range r.Components {
			input, ok := in.(*discordgo.TextInput)
			if !ok || input == nil {
				continue
			}
			fields = slices.DeleteFunc(fields, func(e bot.Entry) bool { return e.Field == input.CustomID })
			if strings.TrimSpace(input.Value) != "" {
				fields = append(fields, bot.Entry{Field: input.CustomID, Text: input.Value})
			}
		}
	}
	return fields
}

// pick makes the message that lets a member, a channel or a role be chosen for a field.
func (a *Adapter) pick(ctx context.Context, ask bot.Ask, field bot.Field) (message, error) {
	id, err := a.name(ctx, pickSign+field.Name+" ", Kept{Request: ask.String(), Coop: ask.Coop.Key, Who: ask.Who.Key})
	if err != nil {
		return message{}, err
	}
	menu := discordgo.SelectMenu{MenuType: discordgo.UserSelectMenu, CustomID: id, Placeholder: shorten(field.Help, 150)}
	if field.Kind == bot.ChannelKind {
		menu.MenuType, menu.ChannelTypes = discordgo.ChannelSelectMenu, textChannels
	}
	if field.Kind == bot.RoleKind {
		menu.MenuType = discordgo.RoleSelectMenu
	}
	m := message{Content: "For " + plain(ask.Request) + ", choose the " + plain(field.Name) + ": " + plain(field.Help) + "."}
	m.put([]discordgo.ActionsRow{{Components: []discordgo.MessageComponent{menu}}})
	return m, nil
}

// fill opens the menu or the form for what a request lacks, or for all of it, and tells whether it did. Once an answer is
// promised a form can no longer be opened; the Desk's refusal then says what to type.
func (a *Adapter) fill(ctx context.Context, t *Turn, ask bot.Ask, all bool) (opened bool, err error) {
	r, found := a.desk.Request(ask.Request)
	missing := r.Missing(ask.Fields)
	if !found || len(missing) == 0 && !all {
		return false, nil
	}
	for _, f := range missing {
		if picked(f.Kind) && !ask.Direct {
			m, err := a.pick(ctx, ask, f)
			if err != nil {
				return true, a.fail(ctx, t, err)
			}
			return true, t.send(ctx, []message{m}, true)
		}
	}
	fields := inputs(r, ask.Fields, all)
	if len(fields) == 0 {
		return false, nil
	}
	if t.Interaction.Type == discordgo.InteractionModalSubmit {
		return false, nil // a form cannot follow a form
	}
	f, err := a.form(ctx, ask, fields)
	if err != nil {
		return true, a.fail(ctx, t, err)
	}
	if err = t.open(ctx, f); errors.Is(err, ErrDoubled) {
		return false, nil
	}
	return true, err
}
