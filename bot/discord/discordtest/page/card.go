package page

import (
	"fmt"
	"html/template"
	"slices"
	"strings"
	"time"

	"shortday/bot/discord/discordtest"
)

// view is for whom, and among whom, a message is shown.
type view struct {
	as      string
	names   naming
	members []*discordtest.Member
	places  []spot
	roles   []named
}

// leaf is one message as the template takes it.
type leaf struct {
	ID, By, Asked, Pings    string
	At                      time.Time
	Private, Edited, Notice bool
	Text                    []piece
	Parts                   []part
	Pictures, Files         []filed
	Rows                    [][]control
}

// part is an embed.
type part struct {
	Edge           template.HTMLAttr // its colour
	Head, Foot, By string
	Title, Text    []piece
	Fields         []field
	Picture        *filed
}

type field struct {
	Name, Text []piece
	Narrow     bool
}

// filed is a file of a message, by the address it has here.
type filed struct {
	URL, Name, Alt, Size string
}

// control is a button or a menu.
type control struct {
	Kind, ID, Label, URL, Weight string
	Off, Several                 bool
	Least, Most                  int
	Options                      []discordtest.Option
}

// card writes a message.
func (p *Page) card(m discordtest.Message, v view) (card, error) {
	l := leaf{ID: m.ID, By: "Shortday", At: m.At, Private: m.Private, Edited: m.Edited, Text: v.names.pieces(m.Content)}
	if by, what := m.Asked(); by != nil {
		l.Asked = strings.TrimSpace(by.Name + " asked " + what)
	} else {
		l.Notice = !m.Foreign()
	}
	if m.Foreign() {
		l.By = "Somebody"
	}
	var pinged []string
	for _, id := range m.Pings {
		pinged = append(pinged, v.names.of("@", id))
	}
	l.Pings = strings.Join(pinged, ", ")
	shown := map[string]bool{}
	for _, e := range m.Embeds {
		one := v.part(e)
		if e.Image != nil {
			name := strings.TrimPrefix(e.Image.URL, "attachment://")
			for _, a := range m.Attachments {
				if a.Filename == name && !shown[name] {
					f := v.filed(m, a)
					one.Picture, shown[name] = &f, true
				}
			}
		}
		l.Parts = append(l.Parts, one)
	}
	for _, a := range m.Attachments {
		if f := v.filed(m, a); !shown[a.Filename] && picture(a.ContentType) {
			l.Pictures = append(l.Pictures, f)
		} else if !shown[a.Filename] {
			l.Files = append(l.Files, f)
		}
	}
	for _, row := range m.Rows {
		l.Rows = append(l.Rows, v.controls(row.Components))
	}
	var html strings.Builder
	err := p.pages.ExecuteTemplate(&html, "card.html", l)
	return card{m.ID, stamp([]byte(html.String())), html.String()}, err
}

func (v view) part(e discordtest.Embed) part {
	one := part{Title: v.names.pieces(e.Title), Text: v.names.pieces(e.Description), Edge: edge(e.Color)}
	if e.Footer != nil {
		one.Foot = e.Footer.Text
	}
	if e.Author != nil {
		one.By = e.Author.Name
	}
	for _, f := range e.Fields {
		one.Fields = append(one.Fields, field{v.names.pieces(f.Name), v.names.pieces(f.Value), f.Inline})
	}
	return one
}

// edge gives a colour as an attribute, which a policy without inline styles lets through.
func edge(colour int) template.HTMLAttr {
	return template.HTMLAttr(fmt.Sprintf(`fill="#%06x"`, colour&0xffffff)) //nolint:gosec // digits alone
}

func (v view) filed(m discordtest.Message, a discordtest.Attachment) filed {
	return filed{
		URL:  "/file/" + m.ID + "/" + idOf(a) + "?as=" + v.as,
		Name: a.Filename, Alt: a.Description, Size: sized(a.Size),
	}
}

func sized(n int) string {
	switch {
	case n < 1<<10:
		return fmt.Sprintf("%d bytes", n)
	case n < 1<<20:
		return fmt.Sprintf("%d KiB", (n+1<<9)>>10)
	}
	return fmt.Sprintf("%.1f MiB", float64(n)/(1<<20))
}

// controls gives a row's buttons and menus, with who and what Discord's own lists would hold.
func (v view) controls(components []discordtest.Component) []control {
	var list []control
	for _, c := range components {
		one := control{
			Kind: c.Kind(), ID: c.CustomID, Label: c.Label, URL: c.URL, Off: c.Disabled, Options: slices.Clone(c.Options),
			Weight: map[int]string{1: "first", 3: "first", 4: "grave"}[c.Style], Least: 1, Most: max(1, c.MaxValues),
		}
		if c.MinValues != nil {
			one.Least = *c.MinValues
		}
		if one.Kind != "button" && one.Kind != "link" {
			one.Label = c.Placeholder
			if one.Label == "" {
				one.Label = "Choose"
			}
		}
		one.Several = one.Most > 1
		switch one.Kind {
		case "member":
			for _, m := range v.members {
				one.Options = append(one.Options, discordtest.Option{Label: m.User.Name, Value: m.User.ID})
			}
		case "channel":
			for _, place := range v.places {
				one.Options = append(one.Options, discordtest.Option{Label: "#" + place.Name, Value: place.Key})
			}
		case "role":
			for _, role := range v.roles {
				one.Options = append(one.Options, discordtest.Option{Label: "@" + role.Name, Value: role.Key})
			}
		}
		list = append(list, one)
	}
	return list
}
