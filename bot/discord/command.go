package discord

import (
	"strconv"

	"github.com/bwmarrin/discordgo"

	"shortday/bot"
)

// Commands makes the global commands of families: a command a family, a subcommand a request, an option a field.
func Commands(families []bot.Family) []*discordgo.ApplicationCommand {
	var commands []*discordgo.ApplicationCommand
	for _, f := range families {
		c := &discordgo.ApplicationCommand{
			Name: f.Name, Description: f.Help,
			Contexts: &[]discordgo.InteractionContextType{discordgo.InteractionContextGuild, discordgo.InteractionContextBotDM},
		}
		for _, r := range f.Requests {
			if r.Name == "" {
				c.Options = options(r)
				continue
			}
			c.Options = append(c.Options, &discordgo.ApplicationCommandOption{
				Type: discordgo.ApplicationCommandOptionSubCommand, Name: r.Name, Description: r.Help, Options: options(r),
			})
		}
		commands = append(commands, c)
	}
	return commands
}

// options makes the options of a request. Where it has a form, none is required: without any the form opens.
func options(r bot.Request) []*discordgo.ApplicationCommandOption {
	var list []*discordgo.ApplicationCommandOption
	for _, f := range r.Fields {
		o := option(f)
		o.Required = r.Needs(f) && len(r.Form) == 0
		list = append(list, o)
	}
	return list
}

// The most characters Discord's options take, and the bounds of its numbers.
const (
	longestOption = 6000
	largestNumber = 1 << 53
)

// textChannels are the channels one can post in: text, announcement and their threads.
var textChannels = []discordgo.ChannelType{
	discordgo.ChannelTypeGuildText, discordgo.ChannelTypeGuildNews, discordgo.ChannelTypeGuildNewsThread,
	discordgo.ChannelTypeGuildPublicThread, discordgo.ChannelTypeGuildPrivateThread,
}

func option(f bot.Field) *discordgo.ApplicationCommandOption {
	o := &discordgo.ApplicationCommandOption{Type: discordgo.ApplicationCommandOptionString, Name: f.Name, Description: f.Help}
	o.Autocomplete = f.Complete != nil
	switch f.Kind {
	case bot.WholeKind, bot.NumberKind:
		o.Type = discordgo.ApplicationCommandOptionInteger
		if f.Kind == bot.NumberKind {
			o.Type = discordgo.ApplicationCommandOptionNumber
		}
		o.MinValue = f.Min
		if f.Max != nil && *f.Max < largestNumber {
			o.MaxValue = *f.Max
		}
	case bot.YesKind:
		o.Type, o.Autocomplete = discordgo.ApplicationCommandOptionBoolean, false
	case bot.MemberKind:
		o.Type, o.Autocomplete = discordgo.ApplicationCommandOptionUser, false
	case bot.ChannelKind:
		o.Type, o.Autocomplete, o.ChannelTypes = discordgo.ApplicationCommandOptionChannel, false, textChannels
	case bot.RoleKind:
		o.Type, o.Autocomplete = discordgo.ApplicationCommandOptionRole, false
	case bot.FileKind:
		o.Type, o.Autocomplete = discordgo.ApplicationCommandOptionAttachment, false
	case bot.DayKind:
		o.Autocomplete = true
	case bot.TextKind, bot.LongTextKind:
		if f.Max != nil {
			o.MaxLength = min(int(*f.Max), longestOption)
		}
	}
	for _, choice := range f.Choices {
		o.Choices = append(o.Choices, &discordgo.ApplicationCommandOptionChoice{Name: choice.Label, Value: choice.Value})
	}
	return o
}

// read gives the request that a command's data asks for, its fields, and the field being typed into, if one is.
func read(d discordgo.ApplicationCommandInteractionData) (request string, fields []bot.Entry, focus string) {
	request, options := "/"+d.Name, d.Options
	for len(options) == 1 && options[0] != nil && options[0].Type <= discordgo.ApplicationCommandOptionSubCommandGroup {
		request, options = request+" "+options[0].Name, options[0].Options
	}
	for _, o := range options {
		if o == nil {
			continue
		}
		if o.Focused {
			focus = o.Name
		}
		fields = append(fields, bot.Entry{Field: o.Name, Text: written(o)})
	}
	return request, fields, focus
}

// written gives an option's value as one would type it. Members, channels and roles are their ids, by which they are
// known.
func written(o *discordgo.ApplicationCommandInteractionDataOption) string {
	switch v := o.Value.(type) {
	case string:
		return v
	case bool:
		return map[bool]string{true: "yes", false: "no"}[v]
	case float64:
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	return ""
}
