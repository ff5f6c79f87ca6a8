package discordtest

import (
	"encoding/json"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Message is a message as a member's client would have it.
type Message struct {
	ID          string
	Channel     string
	Content     string
	Embeds      []Embed
	Rows        []Component
	Attachments []Attachment
	Pings       []string // the users that it was allowed to ping
	Private     bool     // only the asker sees it
	For         string   // the asker's id, if private
	Edited      bool
	At          time.Time
	foreign     bool // written by somebody else
	nonce       string
	owner       *Interaction // whose answer it is, if any
}

// nonceSpan is how long the service remembers nonces: "the past few minutes".
const nonceSpan = 3 * time.Minute

// Messages are the messages in the channel, oldest first, the private ones too.
func (c *Channel) Messages() []Message {
	s := c.service()
	s.mu.Lock()
	defer s.mu.Unlock()
	var list []Message
	for _, m := range s.messages {
		if m.Channel == c.ID {
			list = append(list, *m)
		}
	}
	return list
}

// AwaitMessages waits until the channel has so many messages and gives them.
func (c *Channel) AwaitMessages(n int, limit time.Duration) ([]Message, error) {
	s := c.service()
	err := s.await(limit, func() bool {
		count := 0
		for _, m := range s.messages {
			if m.Channel == c.ID {
				count++
			}
		}
		return count >= n
	})
	return c.Messages(), err
}

func (c *Channel) service() *Service {
	if c.guild != nil {
		return c.guild.s
	}
	return c.user.s
}

// Buttons are the message's buttons and menus in order.
func (m Message) Buttons() []Component {
	var list []Component
	for _, r := range m.Rows {
		list = append(list, r.Components...)
	}
	return list
}

// Text is everything readable in the message, a part a line: for tests that look for words.
func (m Message) Text() string {
	parts := []string{m.Content}
	for _, e := range m.Embeds {
		parts = append(parts, e.Title, e.Description)
		for _, f := range e.Fields {
			parts = append(parts, f.Name, f.Value)
		}
		if e.Footer != nil {
			parts = append(parts, e.Footer.Text)
		}
	}
	return strings.Join(slices.DeleteFunc(parts, func(p string) bool { return p == "" }), "\n")
}

type messageJSON struct {
	ID              string          `json:"id"`
	Type            int             `json:"type"`
	ChannelID       string          `json:"channel_id"`
	Author          userJSON        `json:"author"`
	Content         string          `json:"content"`
	Timestamp       time.Time       `json:"timestamp"`
	EditedTimestamp *time.Time      `json:"edited_timestamp"`
	TTS             bool            `json:"tts"`
	MentionEveryone bool            `json:"mention_everyone"`
	Mentions        []userJSON      `json:"mentions"`
	MentionRoles    []string        `json:"mention_roles"`
	Attachments     []Attachment    `json:"attachments"`
	Embeds          []Embed         `json:"embeds"`
	Components      []Component     `json:"components"`
	Pinned          bool            `json:"pinned"`
	Flags           int             `json:"flags"`
	Nonce           json.RawMessage `json:"nonce,omitempty"`
}

func (s *Service) messageJSON(m *Message) messageJSON {
	j := messageJSON{
		ID: m.ID, ChannelID: m.Channel, Author: s.users[applicationID].json(), Content: m.Content, Timestamp: m.At.UTC(),
		Mentions: []userJSON{}, MentionRoles: []string{}, Attachments: append([]Attachment{}, m.Attachments...),
		Embeds: append([]Embed{}, m.Embeds...), Components: append([]Component{}, m.Rows...),
	}
	if m.Private {
		j.Flags = private
	}
	if m.foreign {
		j.Author = userJSON{ID: "2", Username: "somebody", Discriminator: "0", GlobalName: "Somebody"}
	}
	return j
}

// apply puts what a body sets into the message.
func (s *Service) apply(m *Message, b *body, files []file) {
	if b.Content != nil {
		m.Content = *b.Content
	}
	if b.Embeds != nil {
		m.Embeds = *b.Embeds
	}
	if b.Components != nil {
		m.Rows = *b.Components
	}
	if b.AllowedMentions != nil {
		m.Pings = b.AllowedMentions.Users
	}
	if b.Attachments != nil {
		m.Attachments = slices.DeleteFunc(m.Attachments, func(a Attachment) bool {
			return !slices.ContainsFunc(*b.Attachments, func(kept Attachment) bool {
				return strings.Trim(string(kept.ID), `"`) == strings.Trim(string(a.ID), `"`)
			})
		})
	}
	for i, f := range files {
		a := Attachment{ID: encode(s.newID()), Filename: f.name, ContentType: f.kind, Size: len(f.data), Data: f.data}
		a.URL = s.url + "/files/" + strings.Trim(string(a.ID), `"`)
		a.ProxyURL = a.URL
		if b.Attachments != nil {
			for _, listed := range *b.Attachments {
				if strings.Trim(string(listed.ID), `"`) == strconv.Itoa(i) {
					a.Description = listed.Description
				}
			}
		}
		m.Attachments = append(m.Attachments, a)
	}
}

// newMessage stores a message; the caller holds the lock.
func (s *Service) newMessage(channel string, b *body, files []file) *Message {
	m := &Message{ID: s.newID(), Channel: channel, At: s.opts.Dated()}
	s.apply(m, b, files)
	s.messages = append(s.messages, m)
	s.touch()
	return m
}

// lacking gives the refusal for a right the bot has not.
func (c *Channel) lacking(b *body, files []file) reply {
	switch may := c.may(); {
	case may&ViewChannel == 0:
		return refuse(http.StatusForbidden, 50001, "Missing Access")
	case may&SendMessages == 0,
		b.Embeds != nil && len(*b.Embeds) > 0 && may&EmbedLinks == 0,
		len(files) > 0 && may&AttachFiles == 0:
		return refuse(http.StatusForbidden, 50013, "Missing Permissions")
	}
	return reply{}
}

func (s *Service) postMessage(c *call) reply {
	s.mu.Lock()
	defer s.mu.Unlock()
	channel := s.channels[c.r.PathValue("channel")]
	if channel == nil || channel.guild != nil && s.guild(channel.guild.ID) == nil {
		return refuse(http.StatusNotFound, 10003, "Unknown Channel")
	}
	b, err := decode[body](c.body)
	if err != nil {
		s.violate("posting: %w", err)
		return refuse(http.StatusBadRequest, 50035, "Invalid Form Body")
	}
	check := &check{}
	check.message(&b, c.files)
	check.that(b.Flags&private == 0, "a private message in a channel")
	check.that(b.Choices == nil && b.Title == "" && b.CustomID == "", "fields of another kind of answer")
	nonce, _ := textOf(b.Nonce)
	check.length("a nonce", nonce, 0, 25)
	check.that(nonce == "" || b.EnforceNonce, "a nonce that is not enforced")
	if check.err() != nil {
		s.violate("posting: %w", check.err())
		return refuse(http.StatusBadRequest, 50035, "Invalid Form Body")
	}
	if b.empty(c.files) {
		s.violate("posting an empty message")
		return refuse(http.StatusBadRequest, 50006, "Cannot send an empty message")
	}
	if channel.user != nil && (channel.user.closed || !s.shares(channel.user)) {
		return refuse(http.StatusForbidden, 50007, "Cannot send messages to this user")
	}
	if refusal := channel.lacking(&b, c.files); refusal.status != 0 {
		return refusal
	}
	return s.post(channel, &b, c.files, nonce)
}

// post makes the message, or gives the earlier one with the same nonce.
func (s *Service) post(channel *Channel, b *body, files []file, nonce string) reply {
	if nonce != "" {
		for _, m := range s.messages {
			if m.nonce == nonce && m.Channel == channel.ID && s.opts.Dated().Sub(m.At) < nonceSpan {
				return ok(s.messageJSON(m))
			}
		}
	}
	m := s.newMessage(channel.ID, b, files)
	m.nonce = nonce
	j := s.messageJSON(m)
	j.Nonce = b.Nonce
	return ok(j)
}

// ForgetNonces makes the service act as if the past few minutes were over.
func (s *Service) ForgetNonces() {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, m := range s.messages {
		m.nonce = ""
	}
}

func (s *Service) getMessages(c *call) reply {
	s.mu.Lock()
	defer s.mu.Unlock()
	channel, refusal := s.seen(c)
	if channel == nil {
		return refusal
	}
	if channel.may()&ReadHistory == 0 {
		return ok([]messageJSON{})
	}
	limit, before, after := 50, c.r.URL.Query().Get("before"), c.r.URL.Query().Get("after")
	if asked := c.r.URL.Query().Get("limit"); asked != "" {
		n, err := strconv.Atoi(asked)
		if err != nil || n < 1 || n > 100 {
			s.violate("a page of %q messages", asked)
			return refuse(http.StatusBadRequest, 50035, "Invalid Form Body")
		}
		limit = n
	}
	return ok(s.page(channel, before, after, limit))
}

// page gives messages newest first: those just after an id, those just before one, or the newest.
func (s *Service) page(channel *Channel, before, after string, limit int) []messageJSON {
	list := []messageJSON{}
	for _, m := range s.messages {
		in := m.Channel == channel.ID && !m.Private
		if in && (before == "" || older(m.ID, before)) && (after == "" || older(after, m.ID)) {
			list = append(list, s.messageJSON(m))
		}
	}
	if len(list) > limit {
		if after != "" {
			list = list[:limit]
		} else {
			list = list[len(list)-limit:]
		}
	}
	slices.Reverse(list)
	return list
}

// Say puts a message of somebody else into the channel, so that the history is not the bot's alone.
func (c *Channel) Say(content string) {
	s := c.service()
	s.mu.Lock()
	defer s.mu.Unlock()
	s.newMessage(c.ID, &body{Content: &content}, nil).foreign = true
}
