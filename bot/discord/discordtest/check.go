package discordtest

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf16"
)

// check gathers what is wrong with a body. The limits are those of platform.md, which the published
// description does not hold, or not all of them.
type check struct{ errs []error }

func (c *check) that(holds bool, format string, args ...any) {
	if !holds {
		c.errs = append(c.errs, fmt.Errorf(format, args...))
	}
}

func (c *check) err() error { return errors.Join(c.errs...) }

// length counts as the strictest client does, in UTF-16 units.
func length(s string) int { return len(utf16.Encode([]rune(s))) }

func (c *check) length(what, s string, least, most int) {
	n := length(s)
	c.that(least <= n && n <= most, "%s of %d characters, not %d to %d: %.60q", what, n, least, most, s)
}

// message checks a message as it will stand, and the files sent along.
func (c *check) message(b *body, files []file) {
	c.mentions(b.AllowedMentions)
	c.that(!b.TTS, "a message read aloud")
	if b.Content != nil {
		c.length("text", *b.Content, 0, 2000)
	}
	if b.Embeds != nil {
		c.embeds(*b.Embeds, files)
	}
	if b.Components != nil {
		c.rows(*b.Components)
	}
	c.files(b.Attachments, files)
	c.that(b.Flags&^(private|suppressCards) == 0, "flags %d", b.Flags)
}

// empty tells whether nothing at all would be shown.
func (b *body) empty(files []file) bool {
	return (b.Content == nil || strings.TrimSpace(*b.Content) == "") && (b.Embeds == nil || len(*b.Embeds) == 0) && len(files) == 0
}

func (c *check) mentions(m *mentions) {
	if m == nil || m.Parse == nil {
		c.that(false, "no allowed_mentions with a parse: it would ping whoever is named")
		return
	}
	c.that(len(*m.Parse) == 0 && len(m.Roles) == 0 && !m.RepliedUser, "allowed_mentions that ping more than named users: %+v", *m)
	c.that(len(m.Users) <= 100, "allowed_mentions of %d users", len(m.Users))
}

func (c *check) embeds(embeds []Embed, files []file) {
	c.that(len(embeds) <= 10, "%d embeds", len(embeds))
	sum := 0
	for _, e := range embeds {
		sum += length(e.Title) + length(e.Description)
		c.length("an embed's title", e.Title, 0, 256)
		c.length("an embed's description", e.Description, 0, 4096)
		c.that(len(e.Fields) <= 25, "%d fields in an embed", len(e.Fields))
		for _, f := range e.Fields {
			sum += length(f.Name) + length(f.Value)
			c.length("a field's name", f.Name, 1, 256)
			c.length("a field's value", f.Value, 1, 1024)
		}
		if e.Footer != nil {
			sum += length(e.Footer.Text)
			c.length("a footer", e.Footer.Text, 1, 2048)
		}
		if e.Author != nil {
			sum += length(e.Author.Name)
			c.length("an author", e.Author.Name, 1, 256)
		}
		c.that(e.Title+e.Description != "" || len(e.Fields) > 0 || e.Image != nil, "an empty embed")
		for _, image := range []*EmbedImage{e.Image, e.Thumbnail} {
			c.image(image, files)
		}
	}
	c.that(sum <= 6000, "embeds of %d characters in all", sum)
}

func (c *check) image(image *EmbedImage, files []file) {
	if image == nil {
		return
	}
	name, ours := strings.CutPrefix(image.URL, "attachment://")
	c.that(ours, "an embed's picture from elsewhere: %q", image.URL)
	c.that(slices.ContainsFunc(files, func(f file) bool { return f.name == name }), "an embed shows %q, which is not attached", name)
}

func (c *check) files(listed *[]Attachment, files []file) {
	c.that(len(files) <= 10, "%d files", len(files))
	described := map[string]string{}
	if listed != nil {
		for _, a := range *listed {
			described[strings.Trim(string(a.ID), `"`)] = a.Description
			c.length("alternative text", a.Description, 0, 1024)
		}
	}
	for i, f := range files {
		c.that(f.field == "files["+strconv.Itoa(i)+"]", "file %d in a field %q", i, f.field)
		c.that(f.name != "" && len(f.data) > 0, "a file %q of %d bytes", f.name, len(f.data))
		c.that(len(f.data) <= 10<<20, "a file of %d bytes", len(f.data))
		c.that(!strings.HasPrefix(f.kind, "image/") || described[strconv.Itoa(i)] != "", "a picture %q without alternative text", f.name)
	}
}

// rows checks the components of a message.
func (c *check) rows(rows []Component) {
	c.that(len(rows) <= 5, "%d rows", len(rows))
	ids := map[string]bool{}
	for _, r := range rows {
		c.that(r.Type == row, "a component of type %d outside a row", r.Type)
		buttons, menus := 0, 0
		for _, in := range r.Components {
			if in.Type == button {
				buttons++
				c.button(in)
			} else {
				menus++
				c.menu(in)
			}
			c.that(in.CustomID == "" || !ids[in.CustomID], "two components with the custom_id %q", in.CustomID)
			ids[in.CustomID] = true
		}
		c.that(buttons+menus > 0, "an empty row")
		c.that(buttons <= 5 && menus <= 1 && (buttons == 0 || menus == 0), "a row of %d buttons and %d menus", buttons, menus)
	}
}

func (c *check) button(b Component) {
	c.length("a button's label", b.Label, 1, 80)
	if b.Style == linkStyle {
		c.that(b.URL != "" && b.CustomID == "", "a link button without an address or with a custom_id")
		return
	}
	c.that(b.Style >= 1 && b.Style <= 4, "a button of style %d", b.Style)
	c.length("a custom_id", b.CustomID, 1, 100)
}

func (c *check) menu(m Component) {
	known := slices.Contains([]int{menu, userMenu, roleMenu, channelMenu}, m.Type)
	c.that(known, "a component of type %d in a message's row", m.Type)
	c.length("a custom_id", m.CustomID, 1, 100)
	c.length("a placeholder", m.Placeholder, 0, 150)
	if m.Type != menu {
		c.that(len(m.Options) == 0, "a menu of type %d with options", m.Type)
		return
	}
	c.that(len(m.Options) >= 1 && len(m.Options) <= 25, "a menu of %d options", len(m.Options))
	c.that(m.MaxValues <= len(m.Options), "a menu for %d of %d options", m.MaxValues, len(m.Options))
	values := map[string]bool{}
	for _, o := range m.Options {
		c.length("an option's label", o.Label, 1, 100)
		c.length("an option's value", o.Value, 1, 100)
		c.length("an option's description", o.Description, 0, 100)
		c.that(!values[o.Value], "two options with the value %q", o.Value)
		values[o.Value] = true
	}
}

// modal checks a form.
func (c *check) modal(b *body) {
	c.length("a form's title", b.Title, 1, 45)
	c.length("a custom_id", b.CustomID, 1, 100)
	if b.Components == nil {
		c.that(false, "a form without inputs")
		return
	}
	c.that(len(*b.Components) >= 1 && len(*b.Components) <= 5, "a form of %d inputs", len(*b.Components))
	ids := map[string]bool{}
	for _, r := range *b.Components {
		if r.Type != row || len(r.Components) != 1 || r.Components[0].Type != textInput {
			c.that(false, "a form's row that is not one text input")
			continue
		}
		in := r.Components[0]
		c.length("a custom_id", in.CustomID, 1, 100)
		c.length("an input's label", in.Label, 1, 45)
		c.length("an input's placeholder", in.Placeholder, 0, 100)
		c.length("an input's value", in.Value, 0, 4000)
		c.that(in.MaxLength <= 4000 && in.MinLength <= 4000 && (in.MaxLength == 0 || in.MinLength <= in.MaxLength), "an input of %d to %d", in.MinLength, in.MaxLength)
		c.that(in.MaxLength == 0 || length(in.Value) <= in.MaxLength, "an input whose value is longer than it takes")
		c.that(in.Style == 1 || in.Style == 2, "an input of style %d", in.Style)
		c.that(!ids[in.CustomID], "two inputs with the custom_id %q", in.CustomID)
		ids[in.CustomID] = true
	}
}

// completions checks what an option is completed with.
func (c *check) completions(choices *[]Choice) {
	if choices == nil {
		c.that(false, "completions without a list")
		return
	}
	c.that(len(*choices) <= 25, "%d completions", len(*choices))
	for _, choice := range *choices {
		c.length("a completion's name", choice.Name, 1, 100)
		if text, isText := textOf(choice.Value); isText {
			c.length("a completion's value", text, 1, 100)
		}
	}
}

func textOf(raw json.RawMessage) (string, bool) {
	var s string
	err := json.Unmarshal(raw, &s)
	return s, err == nil
}
