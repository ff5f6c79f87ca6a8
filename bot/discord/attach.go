package discord

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"slices"

	"github.com/bwmarrin/discordgo"

	"shortday/bot"
	"shortday/knowledge/fault"
)

// fileHosts are where Discord itself keeps what people send along.
var fileHosts = []string{"cdn.discordapp.com", "media.discordapp.net"}

// attached puts the files that came along into their fields. A link to one expires and is never kept.
func (a *Adapter) attached(ctx context.Context, fields []bot.Entry, r *discordgo.ApplicationCommandInteractionDataResolved) error {
	if r == nil {
		return nil
	}
	for i, e := range fields {
		sent := r.Attachments[e.Text]
		if sent == nil {
			continue
		}
		if sent.Size > bot.Largest {
			return bot.TooLarge(sent.Filename)
		}
		data, err := a.conn.fetch(ctx, sent.URL)
		if err != nil {
			return fault.New(fault.Later, "The file %s could not be fetched from Discord. Send it again in a minute.", bot.Clean(sent.Filename, false)).Because(err)
		}
		if len(data) > bot.Largest {
			return bot.TooLarge(sent.Filename)
		}
		fields[i] = bot.Entry{Field: e.Field, File: &bot.File{Name: sent.Filename, Type: sent.ContentType, Data: data}}
	}
	return nil
}

// fetch gets a file, and no more of it than shows that it is too large. Nothing tells who asks: the address alone lets in.
func (c *Connection) fetch(ctx context.Context, address string) ([]byte, error) {
	where, err := url.Parse(address)
	if err != nil {
		return nil, fmt.Errorf("the address of a file: %w", err)
	}
	ours := where.Scheme == c.base.Scheme && where.Host == c.base.Host
	if !ours && (where.Scheme != "https" || !slices.Contains(fileHosts, where.Host)) {
		return nil, fmt.Errorf("a file at %s is not Discord's", where.Host)
	}
	ctx, cancel := context.WithTimeout(ctx, fileLimit)
	defer cancel()
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, address, nil)
	if err != nil {
		return nil, err
	}
	resp, err := c.files.Do(r)
	if err != nil {
		return nil, clean(err)
	}
	defer func() { _ = resp.Body.Close() }()
	if resp.StatusCode != http.StatusOK {
		return nil, fmt.Errorf("fetching a file: %s", resp.Status)
	}
	return io.ReadAll(io.LimitReader(resp.Body, bot.Largest+1))
}
