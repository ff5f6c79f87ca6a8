package discordtest

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"net/http"
	"slices"
	"strings"
)

// Values are what a member types into the fields of a command or a form, by name.
type Values map[string]string

type (
	optionJSON struct {
		Name    string          `json:"name"`
		Type    int             `json:"type"`
		Value   json.RawMessage `json:"value,omitempty"`
		Options []optionJSON    `json:"options,omitempty"`
		Focused bool            `json:"focused,omitempty"`
	}
	resolvedJSON struct {
		Users    map[string]userJSON    `json:"users,omitempty"`
		Members  map[string]memberJSON  `json:"members,omitempty"`
		Channels map[string]channelJSON `json:"channels,omitempty"`
		Roles    map[string]roleJSON    `json:"roles,omitempty"`
		Files    map[string]Attachment  `json:"attachments,omitempty"`
	}
	commandJSON struct {
		ID       string        `json:"id"`
		Name     string        `json:"name"`
		Type     int           `json:"type"`
		Options  []optionJSON  `json:"options,omitempty"`
		Resolved *resolvedJSON `json:"resolved,omitempty"`
	}
	componentJSON struct {
		CustomID string        `json:"custom_id"`
		Type     int           `json:"component_type"`
		Values   []string      `json:"values,omitempty"`
		Resolved *resolvedJSON `json:"resolved,omitempty"`
	}
	inputJSON struct {
		Type     int    `json:"type"`
		CustomID string `json:"custom_id"`
		Value    string `json:"value"`
	}
	inputRowJSON struct {
		Type       int         `json:"type"`
		Components []inputJSON `json:"components"`
	}
	formJSON struct {
		CustomID   string         `json:"custom_id"`
		Components []inputRowJSON `json:"components"`
	}
	interactionJSON struct {
		ID                string            `json:"id"`
		ApplicationID     string            `json:"application_id"`
		Type              int               `json:"type"`
		Data              json.RawMessage   `json:"data"`
		GuildID           string            `json:"guild_id,omitempty"`
		ChannelID         string            `json:"channel_id"`
		Channel           channelJSON       `json:"channel"`
		Member            *memberJSON       `json:"member,omitempty"`
		User              *userJSON         `json:"user,omitempty"`
		Token             string            `json:"token"`
		Version           int               `json:"version"`
		Message           *messageJSON      `json:"message,omitempty"`
		AppPermissions    string            `json:"app_permissions"`
		Locale            string            `json:"locale"`
		GuildLocale       string            `json:"guild_locale,omitempty"`
		Entitlements      []string          `json:"entitlements"`
		Owners            map[string]string `json:"authorizing_integration_owners"`
		Context           int               `json:"context"`
		AttachmentSizeMax int               `json:"attachment_size_limit"`
	}
)

// In gives a user of a direct channel the means to act there: they are a member of no server in it.
func (u *User) In() *Member { return &Member{User: u} }

// Slash sends a command, as "stock add", with its fields. What the client itself would not let through is an error.
func (m *Member) Slash(in *Channel, command string, values Values) (*Interaction, error) {
	return m.command(kindCommand, in, command, values, "")
}

// Complete types into the field named by focus and gives what is offered.
func (m *Member) Complete(in *Channel, command string, values Values, focus string) ([]Choice, error) {
	i, err := m.command(kindCompletion, in, command, values, focus)
	if err != nil {
		return nil, err
	}
	if err := i.first(); err != nil {
		return nil, err
	}
	i.s.mu.Lock()
	defer i.s.mu.Unlock()
	return *i.choices, nil
}

func (m *Member) command(kind int, in *Channel, command string, values Values, focus string) (*Interaction, error) {
	s := in.service()
	s.mu.Lock()
	defer s.mu.Unlock()
	words := strings.Fields(strings.TrimPrefix(command, "/"))
	registered, fields, err := s.lookUp(words)
	if err != nil {
		return nil, err
	}
	resolved := &resolvedJSON{}
	options, err := s.fill(m.guild, fields, values, focus, kind == kindCompletion, resolved)
	if err != nil {
		return nil, err
	}
	for _, word := range slices.Backward(words[1:]) {
		kindOf := optionSubcommand
		if len(options) == 1 && options[0].Type == optionSubcommand {
			kindOf = optionGroup
		}
		options = []optionJSON{{Name: word, Type: kindOf, Options: options}}
	}
	data := commandJSON{ID: registered.ID, Name: registered.Name, Type: registered.Type, Options: options, Resolved: resolved}
	i, err := m.send(kind, in, encode(data), nil)
	if err == nil {
		i.said = s.written("/"+strings.Join(words, " "), m.guild, fields, values)
	}
	return i, err
}

// written gives a request as its asker would tell of it.
func (s *Service) written(request string, g *Guild, fields []CommandOption, values Values) string {
	for _, f := range fields {
		typed, given := values[f.Name]
		if f.Type == optionFile {
			typed = s.uploads[typed].Filename
		}
		if given {
			request += " " + f.Name + ": " + g.called(f.Type, typed)
		}
	}
	return request
}

// fill turns what was typed into options and refuses what the client would.
func (s *Service) fill(g *Guild, fields []CommandOption, values Values, focus string, partial bool, resolved *resolvedJSON) ([]optionJSON, error) {
	unknown := maps.Clone(values)
	var options []optionJSON
	for _, f := range fields {
		typed, given := values[f.Name]
		delete(unknown, f.Name)
		if !given {
			if f.Required && !partial {
				return nil, fmt.Errorf("the client asks for %s first", f.Name)
			}
			continue
		}
		if f.Name == focus && !f.Autocomplete {
			return nil, fmt.Errorf("%s is not completed", focus)
		}
		value, err := f.value(g, typed, f.Name == focus)
		if err != nil {
			return nil, err
		}
		resolved.add(g, f.Type, value)
		if f.Type == optionFile {
			if err := resolved.attach(s, typed); err != nil {
				return nil, err
			}
		}
		options = append(options, optionJSON{Name: f.Name, Type: f.Type, Value: value, Focused: f.Name == focus})
	}
	if len(unknown) > 0 {
		return nil, fmt.Errorf("the command has no field %v", slices.Sorted(maps.Keys(unknown)))
	}
	return options, nil
}

// add puts the thing a value names beside it, as the platform does.
func (r *resolvedJSON) add(g *Guild, kind int, value json.RawMessage) {
	id, _ := textOf(value)
	if g == nil {
		return
	}
	switch kind {
	case optionUser:
		member := g.member(id)
		if member != nil {
			r.Users = map[string]userJSON{id: member.User.json()}
			beside := member.json()
			beside.User, beside.Deaf, beside.Mute, beside.Permissions = nil, nil, nil, bits(member.may())
			r.Members = map[string]memberJSON{id: beside}
		}
	case optionChannel:
		if c := g.s.channels[id]; c != nil {
			j := c.json()
			j.GuildID, j.Position, j.Overwrites, j.Permissions = "", nil, nil, bits(c.may())
			r.Channels = map[string]channelJSON{id: j}
		}
	case optionRole:
		for _, role := range g.roleList() {
			if role.ID == id {
				r.Roles = map[string]roleJSON{id: role}
			}
		}
	}
}

// attach puts a file beside the option that names it.
func (r *resolvedJSON) attach(s *Service, id string) error {
	sent, found := s.uploads[id]
	if !found {
		return fmt.Errorf("no file %q was uploaded", id)
	}
	if r.Files == nil {
		r.Files = map[string]Attachment{}
	}
	r.Files[id] = sent
	return nil
}

// Upload gives the service a file to send along with a command: what it returns is the value of the command's field.
func (s *Service) Upload(name, kind string, data []byte) string {
	s.mu.Lock()
	defer s.mu.Unlock()
	id := s.newID()
	s.uploads[id] = Attachment{
		ID: encode(id), Filename: name, ContentType: kind, Size: len(data), Data: data, URL: s.url + "/files/" + id, ProxyURL: s.url + "/files/" + id,
	}
	return id
}

// Forget makes the address of an uploaded file void, as a day does; the file can still be named.
func (s *Service) Forget(id string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	sent := s.uploads[id]
	sent.Data = nil
	s.uploads[id] = sent
}

// serveFile gives a file that was uploaded to whoever has its address, and nobody's token is wanted for it.
func (s *Service) serveFile(w http.ResponseWriter, r *http.Request) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if r.Header.Get("Authorization") != "" {
		s.violate("a token sent with the fetching of a file")
	}
	sent, found := s.uploads[strings.TrimPrefix(r.URL.Path, "/files/")]
	if !found || sent.Data == nil {
		w.WriteHeader(http.StatusNotFound)
		return
	}
	w.Header().Set("Content-Type", sent.ContentType)
	_, _ = w.Write(sent.Data)
}

// Press presses the button with that label, or uses the menu with that placeholder, under a message.
// A menu takes the labels of its options, or, where Discord's own list fills it, ids.
func (m *Member) Press(message Message, label string, picks ...string) (*Interaction, error) {
	s := m.User.s
	s.mu.Lock()
	defer s.mu.Unlock()
	shown, err := m.facing(message.ID)
	if err != nil {
		return nil, err
	}
	for _, c := range shown.Buttons() {
		if c.Label+c.Placeholder != label || c.Disabled {
			continue
		}
		values := slices.Clone(picks)
		for i, pick := range picks {
			for _, o := range c.Options {
				if o.Label == pick {
					values[i] = o.Value
				}
			}
		}
		return m.use(shown, c, values)
	}
	return nil, fmt.Errorf("no button or menu %q under %q", label, shown.Text())
}

// Use presses the button, or uses the menu, that has this custom_id. A menu takes the values of its options, or ids.
func (m *Member) Use(message, customID string, picks ...string) (*Interaction, error) {
	s := m.User.s
	s.mu.Lock()
	defer s.mu.Unlock()
	shown, err := m.facing(message)
	if err != nil {
		return nil, err
	}
	for _, c := range shown.Buttons() {
		if c.CustomID != "" && c.CustomID == customID && !c.Disabled {
			return m.use(shown, c, picks)
		}
	}
	return nil, errors.New("that button or menu is no longer there")
}

// facing gives a message that the member sees; the caller holds the lock.
func (m *Member) facing(id string) (*Message, error) {
	at := slices.IndexFunc(m.User.s.messages, func(o *Message) bool { return o.ID == id })
	if at < 0 {
		return nil, fmt.Errorf("message %s is gone", id)
	}
	shown := m.User.s.messages[at]
	if !m.User.s.sees(m.User, shown) {
		return nil, fmt.Errorf("%s cannot see that message", m.User.Name)
	}
	return shown, nil
}

// use sends what a button or a menu with these values does; the caller holds the lock.
func (m *Member) use(shown *Message, c Component, values []string) (*Interaction, error) {
	data := componentJSON{CustomID: c.CustomID, Type: c.Type, Values: values}
	said := []string{c.Label}
	for _, value := range values {
		name := value
		for _, o := range c.Options {
			if o.Value == value {
				name = o.Label
			}
		}
		if kind := map[int]int{userMenu: optionUser, channelMenu: optionChannel, roleMenu: optionRole}[c.Type]; kind != 0 {
			if data.Resolved == nil {
				data.Resolved = &resolvedJSON{}
			}
			data.Resolved.add(m.guild, kind, encode(value))
			name = m.guild.called(kind, value)
		}
		said = append(said, name)
	}
	i, err := m.send(kindComponent, m.User.s.channels[shown.Channel], encode(data), shown)
	if err == nil {
		i.said = strings.TrimSpace(strings.Join(said, " "))
	}
	return i, err
}

// Submit fills in a form, by the labels of its inputs, and sends it. Inputs not named keep what they held.
func (m *Member) Submit(f Form, values Values) (*Interaction, error) {
	s := m.User.s
	s.mu.Lock()
	defer s.mu.Unlock()
	unknown := maps.Clone(values)
	data := formJSON{CustomID: f.CustomID}
	for _, in := range f.Inputs {
		typed, given := values[in.Label]
		delete(unknown, in.Label)
		if !given {
			typed = in.Value
		}
		required := in.Required == nil || *in.Required
		if typed == "" && required || length(typed) < in.MinLength && typed != "" || in.MaxLength > 0 && length(typed) > in.MaxLength {
			return nil, fmt.Errorf("the client does not take %q for %s", typed, in.Label)
		}
		data.Components = append(data.Components, inputRowJSON{row, []inputJSON{{textInput, in.CustomID, typed}}})
	}
	if len(unknown) > 0 {
		return nil, fmt.Errorf("the form has no input %v", slices.Sorted(maps.Keys(unknown)))
	}
	i, err := m.send(kindForm, f.in, encode(data), f.message)
	if err == nil {
		i.said = f.Title
	}
	return i, err
}

// send makes an interaction and puts it on the link of its server; the caller holds the lock.
func (m *Member) send(kind int, in *Channel, data []byte, message *Message) (*Interaction, error) {
	s := m.User.s
	id := s.newID()
	i := &Interaction{ID: id, token: "interaction-token-" + id, s: s, kind: kind, by: m, in: in, asked: s.opts.Now(), message: message}
	s.interactions[i.token] = i
	j := interactionJSON{
		ID: id, ApplicationID: applicationID, Type: kind, Data: data, ChannelID: in.ID, Channel: in.json(), Token: i.token, Version: 1,
		AppPermissions: bits(in.may()), Locale: "en-GB", Entitlements: []string{}, Owners: map[string]string{}, AttachmentSizeMax: 10 << 20,
	}
	if message != nil {
		shown := s.messageJSON(message)
		j.Message = &shown
	}
	if in.guild == nil {
		user := m.User.json()
		j.User, j.Context = &user, 1
	} else {
		member := m.json()
		member.Permissions = bits(m.may())
		j.Member, j.GuildID, j.GuildLocale = &member, in.guild.ID, "en-GB"
		j.Owners["0"] = in.guild.ID
	}
	s.dispatch(in.guild, "INTERACTION_CREATE", encode(j))
	return i, nil
}
