package discord

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"

	"github.com/bwmarrin/discordgo"
)

// request sends JSON and reads the answer into a value, which may be nil. Of a panic inside the library an error is made.
func request[V any](ctx context.Context, s *discordgo.Session, method, endpoint, bucket string, body []byte, into *V) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("the library panicked: %v", p)
		}
	}()
	answer, err := s.RequestRaw(method, endpoint, "application/json", body, bucket, 0, discordgo.WithContext(ctx))
	if err != nil {
		return clean(err)
	}
	if into == nil {
		return nil
	}
	if err := json.Unmarshal(answer, into); err != nil {
		return fmt.Errorf("reading Discord's answer: %w", err)
	}
	return nil
}

// get asks for one thing.
func get[V any](ctx context.Context, c *Connection, endpoint string) (V, error) {
	var v V
	err := request(ctx, c.api, http.MethodGet, endpoint, "", nil, &v)
	return v, err
}

// File is a file to send. Alt says in words what it shows.
type File struct {
	Name, Kind, Alt string // Kind is the media type
	Data            []byte
}

// attachment tells of a file sent along; the library has no place for the alternative text.
type attachment struct {
	ID          string `json:"id"`
	Filename    string `json:"filename"`
	Description string `json:"description,omitempty"`
}

// message is what is sent as a post, as an answer or as an edit.
type message struct {
	Content      string                            `json:"content,omitempty"`
	Embeds       []*discordgo.MessageEmbed         `json:"embeds,omitempty"`
	Components   []discordgo.MessageComponent      `json:"components,omitempty"`
	Mentions     *discordgo.MessageAllowedMentions `json:"allowed_mentions,omitempty"`
	Attachments  []attachment                      `json:"attachments,omitempty"`
	Flags        discordgo.MessageFlags            `json:"flags,omitempty"`
	Nonce        string                            `json:"nonce,omitempty"`
	EnforceNonce bool                              `json:"enforce_nonce,omitempty"`
	files        []*discordgo.File
}

// nobody lets a message ping no one but those given.
func nobody(but ...string) *discordgo.MessageAllowedMentions {
	return &discordgo.MessageAllowedMentions{Parse: []discordgo.AllowedMentionType{}, Users: but}
}

// attach adds a file with what it shows.
func (m *message) attach(f File) {
	m.Attachments = append(m.Attachments, attachment{strconv.Itoa(len(m.files)), f.Name, f.Alt})
	m.files = append(m.files, &discordgo.File{Name: f.Name, ContentType: f.Kind, Reader: bytes.NewReader(f.Data)})
}

// encode gives the content type and bytes of a body that holds the message, alone or as part of something.
func encode[V any](body V, files []*discordgo.File) (kind string, data []byte, err error) {
	if len(files) > 0 {
		return discordgo.MultipartBodyWithJSON(body, files)
	}
	data, err = json.Marshal(body)
	return "application/json", data, err
}

// send sends a body that may carry files and reads the answer's id, if it has one.
func send[V any](ctx context.Context, c *Connection, method, endpoint, bucket string, body V, files []*discordgo.File) (id string, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("the library panicked: %v", p)
		}
	}()
	kind, data, err := encode(body, files)
	if err != nil {
		return "", fmt.Errorf("encoding a message: %w", err)
	}
	answer, err := c.api.RequestRaw(method, endpoint, kind, data, bucket, 0, discordgo.WithContext(ctx))
	if err != nil || len(answer) == 0 {
		return "", clean(err)
	}
	var created struct {
		ID string `json:"id"`
	}
	err = json.Unmarshal(answer, &created)
	return created.ID, err
}
