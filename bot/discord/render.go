package discord

import (
	"encoding/csv"
	"fmt"
	"regexp"
	"strings"

	"github.com/bwmarrin/discordgo"

	"shortday/bot"
)

// How much of a reply is shown in a card and in how many; beyond that the whole is attached.
const (
	cardSize  = 3600 // of the platform's 4,096, with room for a remark
	mostCards = 3
	mostFiles = 10
	fileSize  = 10 << 20
)

// The colours of a card's edge: leaf for an answer, rust for a refusal.
const (
	leaf = 0x6b8e4e
	rust = 0xb4552d
)

// render makes the messages of a reply, in at most so many cards. Its buttons are not among them.
func render(r bot.Reply, cards int) []message {
	colour, text := leaf, wordsOf(r)
	if r.Refusal != nil {
		colour = rust
	}
	var parts []string
	if text != "" {
		parts = append(parts, stamped(plain(text), r.Instants))
	}
	pages := gather(append(parts, blocks(r.Rows, cardSize)...), "\n\n", cardSize)
	files := r.Files
	if len(pages) > cards {
		files = append(files[:len(files):len(files)], whole(r)...)
		pages = []string{pages[0] + "\n\n*This is the beginning. The whole is in the attached file.*"}
	}
	if len(pages) == 0 && r.Title == "" && len(files) == 0 {
		pages = []string{"Done."}
	}
	return carryFiles(dress(r.Title, colour, pages), files)
}

// wordsOf gives what a reply says outside of its rows: a refusal has its own words first.
func wordsOf(r bot.Reply) string {
	if r.Refusal == nil {
		return r.Text
	}
	return strings.TrimSpace(r.Refusal.Text + "\n\n" + r.Text)
}

// dress puts pages into cards, the first with the title.
func dress(title string, colour int, pages []string) []message {
	var messages []message
	for i := 0; i < max(len(pages), 1); i++ {
		card := &discordgo.MessageEmbed{Color: colour}
		if i == 0 {
			card.Title = shorten(plain(title), 256)
		}
		if i < len(pages) {
			card.Description = pages[i]
		}
		if len(pages) > 1 {
			card.Footer = &discordgo.MessageEmbedFooter{Text: fmt.Sprintf("%d of %d", i+1, len(pages))}
		}
		messages = append(messages, message{Embeds: []*discordgo.MessageEmbed{card}})
	}
	return messages
}

// whole gives a reply as files: its text, and its rows for a spreadsheet.
func whole(r bot.Reply) []bot.File {
	var text strings.Builder
	fmt.Fprintf(&text, "%s\n\n%s\n", r.Title, wordsOf(r))
	if len(r.Rows.Rows) > 0 {
		var rows strings.Builder
		w := csv.NewWriter(&rows)
		var heads []string
		for _, c := range r.Rows.Columns {
			heads = append(heads, c.Head)
		}
		_ = w.Write(heads) // a strings.Builder takes all
		for _, row := range r.Rows.Rows {
			var cells []string
			for _, c := range row {
				cells = append(cells, harmless(c))
			}
			_ = w.Write(cells)
		}
		w.Flush()
		return []bot.File{
			{Name: "reply.txt", Type: "text/plain", Alt: "The text of the reply", Data: []byte(text.String())},
			{Name: "rows.csv", Type: "text/csv", Alt: "All rows of the reply, for a spreadsheet", Data: []byte(rows.String())},
		}
	}
	return []bot.File{{Name: "reply.txt", Type: "text/plain", Alt: "The whole reply", Data: []byte(text.String())}}
}

// harmless keeps a spreadsheet from taking words for a formula, in the wide forms too that some take for one.
func harmless(c bot.Cell) string {
	text := c.String()
	if !c.IsNumber() && strings.IndexAny(strings.TrimLeft(text, "\t\r\n "), "=+-@＝＋－＠") == 0 {
		return "'" + text
	}
	return text
}

var unfit = regexp.MustCompile(`[^A-Za-z0-9._-]+`)

// carryFiles attaches files to the last message, ten to each, pictures shown in the card. What is too large is named.
func carryFiles(messages []message, files []bot.File) []message {
	last := &messages[len(messages)-1]
	for i, f := range files {
		if len(f.Data) > fileSize {
			last.Embeds[0].Description += fmt.Sprintf("\n\n*%s is left out: it has %d MiB, and Discord takes 10.*", plain(f.Name), len(f.Data)>>20)
			continue
		}
		if len(last.files) == mostFiles {
			messages = append(messages, message{Embeds: []*discordgo.MessageEmbed{{Color: leaf, Title: "More files"}}})
			last = &messages[len(messages)-1]
		}
		name := unfit.ReplaceAllString(f.Name, "-")
		if name == "" || name == "-" {
			name = fmt.Sprintf("file-%d", i+1)
		}
		last.attach(File{Name: name, Kind: f.Type, Alt: shorten(f.Alt, 1024), Data: f.Data})
		if strings.HasPrefix(f.Type, "image/") && last.Embeds[0].Image == nil {
			last.Embeds[0].Image = &discordgo.MessageEmbedImage{URL: "attachment://" + name}
		}
	}
	return messages
}
