package discord

import (
	"context"
	"crypto/sha256"
	"encoding/base32"
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"github.com/bwmarrin/discordgo"
)

// Post is a message of our own accord.
type Post struct {
	Key   string // of the notice; twice the same key is one notice
	Text  string
	Cards []*discordgo.MessageEmbed
	Rows  []discordgo.ActionsRow // the first button carries the key
	Files []File
	Pings []string // those it calls, and nobody else
}

// ErrUnknowable is what Find gives where the channel's history cannot be read.
var ErrUnknowable = errors.New("the channel's history cannot be read")

// errNoButton is a wrong program: a keyed post could never be found again.
var errNoButton = errors.New("a keyed post without a button to carry its key")

// markSize is the length of a mark, which must fit in a nonce of 25 characters.
const markSize = 24

// mark makes of a key of any length what fits in a nonce and beside a request in a custom_id.
func mark(key string) string {
	sum := sha256.Sum256([]byte(key))
	return base32.StdEncoding.EncodeToString(sum[:markSize*5/8])
}

// markedBy divides a request from a mark in a custom_id; no request holds it.
const markedBy = "\x1f"

// Send posts a message in a channel and gives its id. A key already posted within the past few minutes is not posted
// again, whatever became of the first request's answer.
func (c *Connection) Send(ctx context.Context, channel string, p Post) (id string, err error) {
	m := message{Content: p.Text, Embeds: p.Cards}
	for _, f := range p.Files {
		m.attach(f)
	}
	return c.post(ctx, channel, p.Key, m, p.Rows, p.Pings)
}

func (c *Connection) post(ctx context.Context, channel, key string, m message, rows []discordgo.ActionsRow, pings []string) (id string, err error) {
	m.Mentions = nobody(pings...)
	if len(pings) > 0 { // only in the text does a mention call anybody
		m.Content = strings.TrimSpace("<@" + strings.Join(pings, "> <@") + "> " + m.Content)
	}
	if key != "" {
		if err := carry(rows, mark(key)); err != nil {
			return "", err
		}
		m.Nonce, m.EnforceNonce = mark(key), true
		ctx = context.WithValue(ctx, repeatable{}, new(int))
	}
	m.put(rows)
	endpoint := discordgo.EndpointChannelMessages(channel)
	return send(ctx, c, http.MethodPost, endpoint, endpoint, m, m.files)
}

// carry puts the mark on the first button.
func carry(rows []discordgo.ActionsRow, mark string) error {
	for _, row := range rows {
		for i, in := range row.Components {
			if b, ok := in.(discordgo.Button); ok && b.CustomID != "" {
				b.CustomID += markedBy + mark
				row.Components[i] = b
				return nil
			}
		}
	}
	return errNoButton
}

// Direct gives the direct channel with a person.
func (c *Connection) Direct(ctx context.Context, person string) (channel string, err error) {
	c.mu.Lock()
	channel = c.direct[person]
	c.mu.Unlock()
	if channel != "" {
		return channel, nil
	}
	body := struct {
		Recipient string `json:"recipient_id"`
	}{person}
	ctx = context.WithValue(ctx, repeatable{}, new(int)) // asked twice it is the same channel
	channel, err = send(ctx, c, http.MethodPost, discordgo.EndpointUserChannels("@me"), "", body, nil)
	if err != nil {
		return "", err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.direct[person] = channel
	return channel, nil
}

// Find looks among our own messages since an instant for the one with the key. It gives "" where there is none, and
// ErrUnknowable where that cannot be known.
func (c *Connection) Find(ctx context.Context, channel, key string, since time.Time) (id string, err error) {
	after, seen, wanted := snowflake(since), false, markedBy+mark(key)
	for {
		page, err := get[[]*discordgo.Message](ctx, c, pageOf(channel, after))
		if err != nil {
			return "", err
		}
		for _, m := range page {
			if m != nil && m.Author != nil && m.Author.ID == c.me(ctx) && carries(m, wanted) {
				return m.ID, nil
			}
		}
		if len(page) == 0 && !seen {
			return "", c.readable(ctx, channel)
		}
		newest := after
		for _, m := range page {
			if m != nil && older(newest, m.ID) {
				newest = m.ID
			}
		}
		if len(page) < pageSize || newest == after {
			return "", nil
		}
		after, seen = newest, true
	}
}

const pageSize = 100

func pageOf(channel, after string) string {
	query := url.Values{"after": {after}, "limit": {strconv.Itoa(pageSize)}}
	return discordgo.EndpointChannelMessages(channel) + "?" + query.Encode()
}

func carries(m *discordgo.Message, wanted string) bool {
	for _, in := range m.Components {
		row, ok := in.(*discordgo.ActionsRow)
		if !ok || row == nil {
			continue
		}
		for _, in := range row.Components {
			if b, ok := in.(*discordgo.Button); ok && b != nil && strings.HasSuffix(b.CustomID, wanted) {
				return true
			}
		}
	}
	return false
}

// epoch is the first instant of the platform's ids: 2015-01-01 UTC, in milliseconds.
const epoch = 1420070400000

// snowflake gives the id that a message of that instant would be just above.
func snowflake(t time.Time) string {
	return strconv.FormatInt(max(t.UnixMilli()-epoch, 0)<<22, 10)
}

// older compares two ids as numbers.
func older(a, b string) bool {
	if len(a) != len(b) {
		return len(a) < len(b)
	}
	return a < b
}
