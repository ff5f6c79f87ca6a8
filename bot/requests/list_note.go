package requests

import (
	"context"
	"slices"
	"strings"

	"shortday/bot"
	"shortday/knowledge/fault"
	"shortday/knowledge/listing"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

// noteLines are notes of the diary, a line each.
func (c counter) noteLines() listKind {
	return listKind{
		one: "note", many: "notes", path: "/note add", of: note(c),
		columns: []listing.Column{{Name: "note", Others: []string{"notes", "words", "remark", "remarks", "comment"}}, {Name: "on", Others: []string{"date", "day", "when"}},
			kindOfPlant(), {Name: "batch", Others: []string{"mark"}}, {Name: "spot", Others: []string{"bench", "place", "where"}}, {Name: "share", Others: []string{"shared"}}},
		tells: []string{"note", "on"},
		back:  "/note list has them; /note add which: with undo:yes takes one back.",
		then:  bot.Next{Label: "Your diary", Request: "/note list"},
		ready: c.notesReady,
	}
}

// allNotes is more than a diary has.
const allNotes = 1 << 30

func (c counter) notesReady(ctx context.Context, in *bot.In, own register.Member) (map[string]bool, lookAt, error) {
	seat := c.seat(ctx, in)
	notes, err := c.reg.Notes(ctx, own, register.Diary{}, allNotes)
	known := map[string]bool{}
	for _, n := range notes {
		known[noteKey(n)] = true
	}
	return known, func(ctx context.Context, in *bot.In) (lineOf, error) {
		n := register.Note{Words: in.Text("note"), On: in.Day("on"), Spot: in.Text("spot"), Shared: in.Yes("share")}
		n.Name = c.variety(ctx, in, seat.Coop.ID, own, "variety").Name
		var l lineOf
		switch {
		case in.Err() != nil:
			return l, nil
		case n.Words == "":
			return l, unclear("There are no words in it. Photos do not come with a list: /note add takes them.")
		case n.On.IsZero():
			return l, unclear("The day is missing.")
		case n.On > in.Today():
			return l, unclear("%s is still to come. Bring what was seen.", n.On.Long())
		}
		l.key, l.what = noteKey(n), n.On.Long()+": "+glimpse(n.Words)
		if in.Has("batch") {
			b, err := c.reg.BatchMarked(ctx, seat.Coop.ID, in.Text("batch"))
			if fault.KindOf(err) == fault.Internal {
				return l, err
			}
			if err != nil || b.Member != own.ID || n.Name != "" && b.Name != n.Name {
				l.drop = []string{"batch"}
				l.what += "; batch " + clipped(in.Text("batch")) + " is no batch of theirs here and is passed over"
			}
		}
		return l, nil
	}, err
}

// noteKey says what a note says: its marks are a register's own, and who sees it is no other note.
func noteKey(n register.Note) string {
	return variety.Fold(strings.Join([]string{n.On.String(), n.Name, n.Spot, n.Words}, "\x1f"))
}

// bloomLines are blooms that were seen, a line each.
func (c counter) bloomLines() listKind {
	return listKind{
		one: "bloom", many: "blooms", path: "/note bloomed", of: note(c),
		columns: []listing.Column{kindOfPlant(), {Name: "first", Others: []string{"first bloom"}}, {Name: "full", Others: []string{"full bloom"}},
			{Name: "stems"}, {Name: "note", Others: []string{"notes", "remark"}}},
		tells: []string{"variety", "first", "full"}, back: bloomsBack, then: bot.Next{Label: "When your targets are expected now", Request: "/target list"},
		ready: c.bloomsReady(func(in *bot.In) register.Bloom { return register.Bloom{First: in.Day("first"), Full: in.Day("full")} }),
	}
}

// pickingLines are stems that were picked, a line each.
func (c counter) pickingLines() listKind {
	return listKind{
		one: "picking", many: "pickings", path: "/note picked", of: note(c),
		columns: []listing.Column{kindOfPlant(), {Name: "on", Others: []string{"picked", "date", "day"}}, {Name: "stems"}, {Name: "note", Others: []string{"notes", "remark"}}},
		tells:   []string{"variety", "on", "stems"}, back: bloomsBack, then: bot.Next{Label: "When your targets are expected now", Request: "/target list"},
		ready: c.bloomsReady(func(in *bot.In) register.Bloom { return register.Bloom{Picked: in.Day("on")} }),
	}
}

const bloomsBack = "Later dates rest on them from now on. /job undo takes one back."

func (c counter) bloomsReady(read func(*bot.In) register.Bloom) func(context.Context, *bot.In, register.Member) (map[string]bool, lookAt, error) {
	return func(ctx context.Context, in *bot.In, own register.Member) (map[string]bool, lookAt, error) {
		seat := c.seat(ctx, in)
		seen, err := c.reg.Blooms(ctx, own.ID)
		known := map[string]bool{}
		for _, b := range seen {
			known[bloomKey(b)] = true
		}
		return known, func(ctx context.Context, in *bot.In) (lineOf, error) {
			b := register.BloomRecord{BloomRow: register.BloomRow{Bloom: read(in)}, Name: c.variety(ctx, in, seat.Coop.ID, own, "variety").Name}
			b.Bloom.Stems, b.Bloom.Note = in.Whole("stems"), in.Text("note")
			on := max(b.Bloom.First, b.Bloom.Full, b.Bloom.Picked)
			switch {
			case in.Err() != nil:
				return lineOf{}, nil
			case b.Name == "":
				return lineOf{}, unclear("The variety is missing.")
			case on.IsZero():
				return lineOf{}, unclear("The day is missing.")
			case on > in.Today():
				return lineOf{}, unclear("%s is still to come. Bring what was seen.", on.Long())
			case !b.Bloom.Full.IsZero() && b.Bloom.First > b.Bloom.Full:
				return lineOf{}, unclear("The first bloom cannot come after full bloom.")
			}
			return lineOf{key: bloomKey(b), what: bloomWords(b)}, nil
		}, err
	}
}

func bloomKey(b register.BloomRecord) string {
	return variety.Fold(strings.Join(bloomRow(b), "\x1f") + "\x1f" + b.Bloom.Picked.String())
}

func bloomRow(b register.BloomRecord) []string {
	return []string{b.Name, b.Bloom.First.String(), b.Bloom.Full.String(), unlessZero(b.Bloom.Stems), b.Bloom.Note}
}

// bloomWords tells a bloom: "Saltmarsh, first bloom Fri 29 Oct 2027, 38 stems".
func bloomWords(b register.BloomRecord) string {
	words := b.Name
	if !b.Bloom.First.IsZero() {
		words += ", first bloom " + b.Bloom.First.Long()
	}
	if !b.Bloom.Full.IsZero() {
		words += ", full bloom " + b.Bloom.Full.Long()
	}
	if !b.Bloom.Picked.IsZero() {
		words += ", picked " + b.Bloom.Picked.Long()
	}
	if b.Bloom.Stems > 0 {
		words += ", " + plural(b.Bloom.Stems, "stem", "stems")
	}
	return words
}

// diaryFiles writes a member's notes, and the blooms and pickings they recorded, as lists that can be brought back.
func (c counter) diaryFiles(ctx context.Context, own register.Member) (files []bot.File, err error) {
	notes, err := c.reg.Notes(ctx, own, register.Diary{}, allNotes)
	if err != nil {
		return nil, err
	}
	seen, err := c.reg.Blooms(ctx, own.ID)
	if err != nil {
		return nil, err
	}
	var rows, blooms, pickings [][]string
	for _, n := range slices.Backward(notes) { // in the order in which they are entered again
		share := ""
		if n.Shared {
			share = "yes"
		}
		if n.Event == 0 { // those of a bloom go with it
			rows = append(rows, []string{n.On.String(), n.Words, n.Name, n.Mark, n.Spot, share, unlessZero(n.Photos)})
		}
	}
	for _, b := range seen {
		if b.Bloom.Picked.IsZero() {
			blooms = append(blooms, bloomRow(b))
		} else {
			pickings = append(pickings, []string{b.Name, b.Bloom.Picked.String(), unlessZero(b.Bloom.Stems), b.Bloom.Note})
		}
	}
	files = csvOf(files, "notes.csv", "your notes as a list that a spreadsheet opens", []string{"on", "note", "variety", "batch", "spot", "share", "photos"}, rows)
	files = csvOf(files, "blooms.csv", "the blooms that you recorded", []string{"variety", "first", "full", "stems", "note"}, blooms)
	return csvOf(files, "pickings.csv", "the stems that you picked", []string{"variety", "on", "stems", "note"}, pickings), nil
}
