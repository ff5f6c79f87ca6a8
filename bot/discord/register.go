package discord

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"reflect"

	"github.com/bwmarrin/discordgo"
)

// Register makes the global commands be those wanted and tells whether they had to be sent: they are not, where they are
// registered already.
func (c *Connection) Register(ctx context.Context, wanted []*discordgo.ApplicationCommand) (sent bool, err error) {
	endpoint := discordgo.EndpointApplicationGlobalCommands(c.me(ctx))
	there, err := get[[]*discordgo.ApplicationCommand](ctx, c, endpoint)
	if err != nil {
		return false, fmt.Errorf("asking for the commands registered: %w", err)
	}
	body, err := json.Marshal(wanted)
	if err != nil {
		return false, fmt.Errorf("encoding the commands: %w", err)
	}
	var read []*discordgo.ApplicationCommand // the wanted as they would come back
	if err := json.Unmarshal(body, &read); err != nil {
		return false, fmt.Errorf("encoding the commands: %w", err)
	}
	if reflect.DeepEqual(essence(there), essence(read)) {
		return false, nil
	}
	err = request[struct{}](ctx, c.api, http.MethodPut, endpoint, "", body, nil)
	if err != nil {
		return false, fmt.Errorf("registering the commands: %w", err)
	}
	return true, nil
}

// essence leaves of each command, by name, what we decide and Discord does not fill in.
func essence(commands []*discordgo.ApplicationCommand) map[string]discordgo.ApplicationCommand {
	byName := map[string]discordgo.ApplicationCommand{}
	for _, c := range commands {
		if c != nil {
			byName[c.Name] = discordgo.ApplicationCommand{Description: c.Description, Contexts: c.Contexts, Options: tidy(c.Options)}
		}
	}
	return byName
}

// tidy gives the options with absent lists all alike.
func tidy(options []*discordgo.ApplicationCommandOption) []*discordgo.ApplicationCommandOption {
	var list []*discordgo.ApplicationCommandOption
	for _, o := range options {
		copied := *o
		copied.Options = tidy(o.Options)
		if len(o.Choices) == 0 {
			copied.Choices = nil
		}
		if len(o.ChannelTypes) == 0 {
			copied.ChannelTypes = nil
		}
		list = append(list, &copied)
	}
	return list
}
