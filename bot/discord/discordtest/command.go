package discordtest

import (
	"encoding/json"
	"fmt"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"time"
)

// Command is a global command as it was registered, or an option of one.
type Command struct {
	ID                string            `json:"id,omitempty"`
	ApplicationID     string            `json:"application_id,omitempty"`
	Version           string            `json:"version,omitempty"`
	Type              int               `json:"type,omitempty"`
	Name              string            `json:"name"`
	NameLocalizations map[string]string `json:"name_localizations,omitempty"`
	Description       string            `json:"description"`
	DescLocalizations map[string]string `json:"description_localizations,omitempty"`
	Options           []CommandOption   `json:"options,omitempty"`
	DefaultRights     *string           `json:"default_member_permissions,omitempty"`
	DMPermission      *bool             `json:"dm_permission,omitempty"`
	DefaultPermission *bool             `json:"default_permission,omitempty"`
	Contexts          []int             `json:"contexts,omitempty"`
	IntegrationTypes  []int             `json:"integration_types,omitempty"`
	NSFW              bool              `json:"nsfw,omitempty"`
	GuildID           string            `json:"guild_id,omitempty"`
}

// CommandOption is a subcommand or a field.
type CommandOption struct {
	Type              int               `json:"type"`
	Name              string            `json:"name"`
	NameLocalizations map[string]string `json:"name_localizations,omitempty"`
	Description       string            `json:"description"`
	DescLocalizations map[string]string `json:"description_localizations,omitempty"`
	Required          bool              `json:"required,omitempty"`
	Autocomplete      bool              `json:"autocomplete,omitempty"`
	Choices           []Choice          `json:"choices,omitempty"`
	Options           []CommandOption   `json:"options,omitempty"`
	ChannelTypes      []int             `json:"channel_types,omitempty"`
	MinValue          *float64          `json:"min_value,omitempty"`
	MaxValue          *float64          `json:"max_value,omitempty"`
	MinLength         *int              `json:"min_length,omitempty"`
	MaxLength         *int              `json:"max_length,omitempty"`
}

// The kinds of option.
const (
	optionSubcommand = 1
	optionGroup      = 2
	optionString     = 3
	optionInteger    = 4
	optionBoolean    = 5
	optionUser       = 6
	optionChannel    = 7
	optionRole       = 8
	optionNumber     = 10
	optionFile       = 11
)

// Commands are the registered global commands.
func (s *Service) Commands() []Command {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.commands)
}

// AwaitCommands waits until commands are registered.
func (s *Service) AwaitCommands(limit time.Duration) error {
	return s.await(limit, func() bool { return len(s.commands) > 0 })
}

func (s *Service) getCommands(c *call) reply {
	s.mu.Lock()
	defer s.mu.Unlock()
	list := slices.Clone(s.commands)
	if c.r.URL.Query().Get("with_localizations") != "true" {
		for i := range list {
			list[i].NameLocalizations, list[i].DescLocalizations = nil, nil
		}
	}
	return ok(append([]Command{}, list...))
}

func (s *Service) putCommands(c *call) reply {
	s.mu.Lock()
	defer s.mu.Unlock()
	commands, err := decode[[]Command](c.body)
	if err == nil {
		err = checkCommands(commands)
	}
	if err != nil || c.r.PathValue("application") != applicationID {
		s.violate("registering commands: %w", err)
		return refuse(http.StatusBadRequest, 50035, "Invalid Form Body")
	}
	for i := range commands {
		commands[i].ID, commands[i].Version, commands[i].ApplicationID = s.newID(), s.newID(), applicationID
		if commands[i].Type == 0 {
			commands[i].Type = 1
		}
	}
	s.commands = commands
	s.touch()
	return ok(commands)
}

var commandName = regexp.MustCompile(`^[-_'\p{L}\p{N}]{1,32}$`)

func checkCommands(commands []Command) error {
	c := &check{}
	c.that(len(commands) <= 100, "%d commands", len(commands))
	names := map[string]bool{}
	for _, command := range commands {
		c.named(command.Name, command.Description, names)
		c.options(command.Options, 0)
		sum := length(command.Name) + longest(command.Description, command.DescLocalizations) + optionSum(command.Options)
		c.that(sum <= 8000, "/%s has %d characters in all", command.Name, sum)
	}
	return c.err()
}

func (c *check) named(name, description string, taken map[string]bool) {
	c.that(commandName.MatchString(name) && strings.ToLower(name) == name, "a name of %q", name)
	c.length("a description", description, 1, 100)
	c.that(!taken[name], "%q twice", name)
	taken[name] = true
}

// options checks the options on one level; depth counts the subcommands above.
func (c *check) options(options []CommandOption, depth int) {
	c.that(len(options) <= 25, "%d options", len(options))
	names, optional, nested := map[string]bool{}, false, 0
	for _, o := range options {
		c.named(o.Name, o.Description, names)
		if o.Type == optionSubcommand || o.Type == optionGroup {
			nested++
			c.that(depth == 0 || (depth == 1 && o.Type == optionSubcommand), "%s nested too deeply", o.Name)
			c.that(!o.Required, "a required subcommand %s", o.Name)
			c.options(o.Options, depth+1)
			continue
		}
		c.that(!o.Required || !optional, "the required %s after an optional one", o.Name)
		optional = optional || !o.Required
		c.option(o)
	}
	c.that(nested == 0 || nested == len(options), "subcommands beside fields")
}

func (c *check) option(o CommandOption) {
	c.that(o.Type >= optionString && o.Type <= optionFile, "%s of type %d", o.Name, o.Type)
	c.that(len(o.Options) == 0, "%s is a field with options", o.Name)
	numeric := o.Type == optionInteger || o.Type == optionNumber
	c.that(!o.Autocomplete || len(o.Choices) == 0, "%s has both choices and completion", o.Name)
	c.that(!o.Autocomplete || numeric || o.Type == optionString, "%s cannot be completed", o.Name)
	c.that(o.MinValue == nil && o.MaxValue == nil || numeric, "%s has bounds and is no number", o.Name)
	c.that(o.MinLength == nil && o.MaxLength == nil || o.Type == optionString, "%s has lengths and is no text", o.Name)
	c.that(len(o.ChannelTypes) == 0 || o.Type == optionChannel, "%s has kinds of channel and is none", o.Name)
	c.that(len(o.Choices) <= 25, "%s has %d choices", o.Name, len(o.Choices))
	names := map[string]bool{}
	for _, choice := range o.Choices {
		c.length("a choice's name", choice.Name, 1, 100)
		if text, isText := textOf(choice.Value); isText {
			c.length("a choice's value", text, 1, 100)
			c.that(o.Type == optionString, "%s has a choice that is text", o.Name)
		}
		c.that(!names[choice.Name], "%s has the choice %q twice", o.Name, choice.Name)
		names[choice.Name] = true
	}
}

func optionSum(options []CommandOption) int {
	sum := 0
	for _, o := range options {
		sum += longest(o.Name, o.NameLocalizations) + longest(o.Description, o.DescLocalizations) + optionSum(o.Options)
		for _, choice := range o.Choices {
			sum += length(choice.Name) + len(strings.Trim(string(choice.Value), `"`))
		}
	}
	return sum
}

func longest(s string, localized map[string]string) int {
	n := length(s)
	for _, l := range localized {
		n = max(n, length(l))
	}
	return n
}

// lookUp finds a registered command and its fields by its words, as "stock add".
func (s *Service) lookUp(words []string) (Command, []CommandOption, error) {
	i := slices.IndexFunc(s.commands, func(c Command) bool { return c.Name == words[0] })
	if i < 0 {
		return Command{}, nil, fmt.Errorf("no command /%s is registered", words[0])
	}
	options := s.commands[i].Options
	for _, word := range words[1:] {
		j := slices.IndexFunc(options, func(o CommandOption) bool { return o.Name == word && o.Type <= optionGroup })
		if j < 0 {
			return Command{}, nil, fmt.Errorf("/%s has no %s", words[0], word)
		}
		options = options[j].Options
	}
	if len(options) > 0 && options[0].Type <= optionGroup {
		return Command{}, nil, fmt.Errorf("/%s alone cannot be called", strings.Join(words, " "))
	}
	return s.commands[i], options, nil
}

// value turns what a member typed into what the client sends for a field.
func (o CommandOption) value(g *Guild, typed string, partial bool) (json.RawMessage, error) {
	if partial || o.Type == optionString {
		return encode(typed), o.allows(encode(typed), partial)
	}
	switch o.Type {
	case optionInteger, optionNumber, optionBoolean:
		if !json.Valid([]byte(typed)) {
			return nil, fmt.Errorf("%s does not take %q", o.Name, typed)
		}
		return json.RawMessage(typed), o.allows(json.RawMessage(typed), false)
	case optionUser, optionChannel, optionRole:
		if g == nil {
			return encode(typed), nil
		}
		id, err := g.find(o.Type, typed)
		return encode(id), err
	case optionFile:
		return encode(typed), nil
	}
	return nil, fmt.Errorf("%s is of a type that cannot be typed", o.Name)
}

// allows tells whether the client would let the value be sent.
func (o CommandOption) allows(value json.RawMessage, partial bool) error {
	if partial {
		return nil
	}
	var number float64
	if json.Unmarshal(value, &number) == nil && (o.MinValue != nil && number < *o.MinValue || o.MaxValue != nil && *o.MaxValue != 0 && number > *o.MaxValue) {
		return fmt.Errorf("%s does not go to %v", o.Name, number)
	}
	if text, isText := textOf(value); isText && (o.MinLength != nil && length(text) < *o.MinLength || o.MaxLength != nil && length(text) > *o.MaxLength) {
		return fmt.Errorf("%s does not take a text of %d characters", o.Name, length(text))
	}
	if len(o.Choices) > 0 && !slices.ContainsFunc(o.Choices, func(c Choice) bool { return string(c.Value) == string(value) }) {
		return fmt.Errorf("%s has no choice %s", o.Name, value)
	}
	return nil
}
