package discordtest

import (
	"bytes"
	"encoding/json"
	"fmt"
)

// Embed is a headed card.
type Embed struct {
	Type        string       `json:"type,omitempty"`
	Title       string       `json:"title,omitempty"`
	Description string       `json:"description,omitempty"`
	URL         string       `json:"url,omitempty"`
	Timestamp   string       `json:"timestamp,omitempty"`
	Color       int          `json:"color,omitempty"`
	Fields      []EmbedField `json:"fields,omitempty"`
	Footer      *EmbedFooter `json:"footer,omitempty"`
	Author      *EmbedAuthor `json:"author,omitempty"`
	Image       *EmbedImage  `json:"image,omitempty"`
	Thumbnail   *EmbedImage  `json:"thumbnail,omitempty"`
}

// EmbedField is a named part of a card.
type EmbedField struct {
	Name   string `json:"name"`
	Value  string `json:"value"`
	Inline bool   `json:"inline,omitempty"`
}

// EmbedFooter is the small print of a card.
type EmbedFooter struct {
	Text string `json:"text"`
}

// EmbedAuthor is the line above a card's title.
type EmbedAuthor struct {
	Name string `json:"name"`
}

// EmbedImage is a picture in a card; attachment://name shows an attached file.
type EmbedImage struct {
	URL string `json:"url"`
}

// Component is a row, or a button, menu or text input in one. Which fields are set goes by Type.
type Component struct {
	Type         int         `json:"type"`
	ID           int         `json:"id,omitempty"`
	Components   []Component `json:"components,omitempty"`
	CustomID     string      `json:"custom_id,omitempty"`
	Label        string      `json:"label,omitempty"`
	Style        int         `json:"style,omitempty"`
	URL          string      `json:"url,omitempty"`
	Disabled     bool        `json:"disabled,omitempty"`
	Placeholder  string      `json:"placeholder,omitempty"`
	Options      []Option    `json:"options,omitempty"`
	MinValues    *int        `json:"min_values,omitempty"`
	MaxValues    int         `json:"max_values,omitempty"`
	ChannelTypes []int       `json:"channel_types,omitempty"`
	Value        string      `json:"value,omitempty"`
	Required     *bool       `json:"required,omitempty"`
	MinLength    int         `json:"min_length,omitempty"`
	MaxLength    int         `json:"max_length,omitempty"`
}

// The kinds of component the service knows.
const (
	row           = 1
	button        = 2
	menu          = 3
	textInput     = 4
	userMenu      = 5
	roleMenu      = 6
	channelMenu   = 8
	linkStyle     = 5
	private       = 64 // the flag of a message that only the asker sees
	suppressCards = 4
)

// Option is one line of a menu.
type Option struct {
	Label       string `json:"label"`
	Value       string `json:"value"`
	Description string `json:"description,omitempty"`
	Default     bool   `json:"default,omitempty"`
}

// Choice is one completion, or one choice of a command's option.
type Choice struct {
	Name  string          `json:"name"`
	Value json.RawMessage `json:"value"`
}

// Attachment is a file of a message with its alternative text.
type Attachment struct {
	ID          json.RawMessage `json:"id"`
	Filename    string          `json:"filename,omitempty"`
	Description string          `json:"description,omitempty"`
	Title       string          `json:"title,omitempty"`
	ContentType string          `json:"content_type,omitempty"`
	Size        int             `json:"size,omitempty"`
	URL         string          `json:"url,omitempty"`
	ProxyURL    string          `json:"proxy_url,omitempty"`
	Data        []byte          `json:"-"`
}

// mentions says who a message may ping.
type mentions struct {
	Parse       *[]string `json:"parse"`
	Roles       []string  `json:"roles,omitempty"`
	Users       []string  `json:"users,omitempty"`
	RepliedUser bool      `json:"replied_user,omitempty"`
}

// body is whatever a message, an edit or the data of a callback may hold. Fields that an edit may leave out are pointers.
type body struct {
	Content          *string         `json:"content"`
	Embeds           *[]Embed        `json:"embeds"`
	Components       *[]Component    `json:"components"`
	AllowedMentions  *mentions       `json:"allowed_mentions"`
	Attachments      *[]Attachment   `json:"attachments"`
	Flags            int             `json:"flags"`
	TTS              bool            `json:"tts"`
	Nonce            json.RawMessage `json:"nonce"`
	EnforceNonce     bool            `json:"enforce_nonce"`
	StickerIDs       []string        `json:"sticker_ids"`
	MessageReference json.RawMessage `json:"message_reference"`
	CustomID         string          `json:"custom_id"`
	Title            string          `json:"title"`
	Choices          *[]Choice       `json:"choices"`
}

// callback is the answer to an interaction.
type callback struct {
	Type int   `json:"type"`
	Data *body `json:"data"`
}

// decode reads JSON and refuses fields nobody knows, which the real service ignores in silence.
func decode[V any](data []byte) (V, error) {
	var v V
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(&v); err != nil {
		return v, fmt.Errorf("%s: %w", data, err)
	}
	return v, nil
}
