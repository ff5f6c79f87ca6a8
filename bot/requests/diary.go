package requests

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
	"shortday/knowledge/photo"
	"shortday/knowledge/register"
)

// diary are the requests of the diary.
func (c counter) diary() []bot.Request {
	return []bot.Request{{
		Name: "add", Help: "Write into your diary: words and photos, of a batch, a bench or a day",
		Examples: []string{`/note add note:"first buds show colour" batch:27-14`, `/note add spot:"bench 2" note:"mildew in the corner" on:friday share:yes`, "/note add which:12 share:no"},
		Fields: append(append([]bot.Field{
			{Name: "note", Help: "what is worth remembering", Kind: bot.LongTextKind, Max: new(2000.0)},
			c.varietyField(false),
			c.batchField("batch", "the mark of the batch it is of", false),
			c.spotField(),
			{Name: "on", Help: "the day it was seen; today if left out", Kind: bot.DayKind, Sense: calendar.Done},
		}, photoFields()...),
			bot.Field{Name: "which", Help: "the number of a note of yours to change", Kind: bot.WholeKind, Min: new(1.0)},
			bot.Field{Name: "undo", Help: "yes to take that note back", Kind: bot.YesKind},
			c.forField()),
		Handle: c.noteAdd,
	}, {
		Name: "list", Help: "Your diary, what others share, and what was written and done a year ago this week",
		Examples: []string{"/note list", `/note list when:"a year ago"`, "/note list variety:Saltmarsh", "/note list which:12"},
		Fields: []bot.Field{
			{Name: "when", Help: "only what was written then", Kind: bot.ChoiceKind, Choices: bot.Choices(thisWeek, aYearAgo)},
			c.varietyField(false),
			c.batchField("batch", "only of this batch", false),
			c.spotField(),
			{Name: "mine", Help: "yes for your own alone", Kind: bot.YesKind},
			{Name: "which", Help: "the number of one note: all of it, with its photos", Kind: bot.WholeKind, Min: new(1.0)},
			fileField("all your notes, blooms and pickings, which /stock add file: reads"),
		},
		Handle: c.noteList,
	}}
}

const (
	thisWeek = "this week"
	aYearAgo = "a year ago"
)

// photoNames are the fields that take a photo.
func photoNames() []string { return []string{"photo", "photo-2", "photo-3"} }

// photoFields are those, with who sees what is written.
func photoFields() []bot.Field {
	return append([]bot.Field{{Name: "share", Help: "yes to let the co-op see it; it is private if left out", Kind: bot.YesKind}}, photosAlone()...)
}

func photosAlone() (fields []bot.Field) {
	for i, name := range photoNames() {
		help := "a photo: JPEG, PNG or WebP; where it was taken is not kept"
		if i > 0 {
			help = "another photo"
		}
		fields = append(fields, bot.Field{Name: name, Help: help, Kind: bot.FileKind})
	}
	return fields
}

// photos reads the photos that were sent along, a few at a time of all that are asking.
func (c counter) photos(ctx context.Context, in *bot.In) []photo.Photo {
	var photos []photo.Photo
	for _, name := range photoNames() {
		if in.Err() != nil || !in.Has(name) {
			continue
		}
		file := in.File(name)
		if in.Err() != nil {
			return nil
		}
		c.reg.Rest(ctx)
		select {
		case c.darkroom <- struct{}{}:
		case <-ctx.Done():
			in.Fail(ctx.Err())
			return nil
		}
		p, err := photo.Read(file.Data)
		<-c.darkroom
		if err != nil {
			in.Fail(err)
			return nil
		}
		photos = append(photos, p)
	}
	return photos
}

func (c counter) noteAdd(ctx context.Context, in *bot.In) (bot.Reply, error) {
	if in.Has("which") {
		return c.noteChange(ctx, in)
	}
	if in.Has("undo") {
		return bot.Reply{}, fault.New(fault.Unclear, "Which note is taken back? Name it with which:, by the number that /note list shows.")
	}
	n := register.Note{Words: in.Text("note"), Spot: in.Text("spot"), On: in.Day("on"), Shared: in.Yes("share")}
	notAhead(in, "on", n.On)
	photos := c.photos(ctx, in)
	seat := c.enter(ctx, in)
	actor, own := c.actor(ctx, in, seat)
	n.Batch = c.batch(ctx, in, seat.Coop.ID, "batch").ID
	n.Variety = c.variety(ctx, in, seat.Coop.ID, own, "variety").ID
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	added, err := c.reg.AddNote(ctx, actor, n, photos)
	if err != nil {
		return bot.Reply{}, err
	}
	reply, err := c.noteShown(ctx, added, own.ID)
	if own.ID != seat.Member.ID { // theirs from now on: to see, to share and to change
		return bot.Reply{Title: titleOf(seat, own) + reply.Title, Private: true, Text: recordedFor(own, actor) + "Written down in " + own.Name + "'s diary."}, err
	}
	reply.Text = paragraphs("Written down as note "+strconv.FormatInt(added.ID, 10)+".", reply.Text)
	return reply, err
}

// noteChange changes a note of the asker's own: its words, who sees it, its photos, or whether it stands.
func (c counter) noteChange(ctx context.Context, in *bot.In) (bot.Reply, error) {
	if in.Has("for") {
		in.Fail(fault.New(fault.Barred, "A note is changed by the one whose it is, and by no steward: it may be private. Leave out for:."))
	}
	for _, field := range []string{"variety", "batch", "spot", "on"} {
		if in.Has(field) {
			in.Fail(fault.New(fault.Unclear, "What a note is of stays as it is: take it back with undo:yes and write another one. Leave out %s:.", field))
		}
	}
	id, words, undo := int64(in.Whole("which")), in.Text("note"), in.Yes("undo")
	photos := c.photos(ctx, in)
	seat := c.seat(ctx, in)
	actor, own := c.actor(ctx, in, seat)
	if err := first(in.Err(), stored(own)); err != nil {
		return bot.Reply{}, err
	}
	if undo {
		if err := c.reg.UndoNote(ctx, actor, id); err != nil {
			return bot.Reply{}, err
		}
		return bot.Reply{Title: fmt.Sprintf("Note %d", id), Private: true, Text: "It is taken back and shown no more; /grower export still has it, as undone."}, nil
	}
	old, err := c.reg.NoteFor(ctx, own, id)
	if err != nil {
		return bot.Reply{}, err
	}
	shared := old.Shared
	put(in, "share", &shared, in.Yes)
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	n, err := c.reg.ChangeNote(ctx, actor, id, words, shared, photos)
	if err != nil {
		return bot.Reply{}, err
	}
	return c.noteShown(ctx, n, own.ID)
}

// noteShown is all of a note, with its photos.
func (c counter) noteShown(ctx context.Context, n register.Note, viewer int64) (bot.Reply, error) {
	reply := bot.Reply{Title: fmt.Sprintf("Note %d, %s", n.ID, n.On.Long()), Private: !n.Shared || viewer == n.Member}
	if of := noteOf(n); of != "" {
		reply.Title += ": " + of
	}
	who := "Only you see it."
	switch {
	case n.Member != viewer:
		who = n.Owner + " shares it."
	case n.Shared:
		who = "The co-op sees it."
	}
	reply.Text = paragraphs(n.Words, who)
	photos, err := c.reg.NotePhotos(ctx, n.ID)
	for i, p := range photos {
		reply.Files = append(reply.Files, bot.File{Name: fmt.Sprintf("note-%d-%d.jpg", n.ID, i+1), Type: "image/jpeg",
			Alt: fmt.Sprintf("photo %d of the note, %d × %d", i+1, p.Width, p.Height), Data: p.Data})
	}
	if n.Member == viewer {
		id := strconv.FormatInt(n.ID, 10)
		share := bot.Next{Label: "Share it with the co-op", Request: bot.Typed("/note add", "which", id, "share", "yes")}
		if n.Shared {
			share = bot.Next{Label: "Keep it to yourself", Request: bot.Typed("/note add", "which", id, "share", "no")}
		}
		reply.Next = []bot.Next{share, {Label: "That was a mistake", Request: bot.Typed("/note add", "which", id, "undo", "yes")}}
	}
	return reply, err
}

// noteOf names what a note is of: "Saltmarsh 27-14, bench 2".
func noteOf(n register.Note) string {
	of := strings.TrimSpace(n.Name + " " + n.Mark)
	if n.Spot != "" && of != "" {
		return of + ", " + n.Spot
	}
	return of + n.Spot
}

// mostNotes is how many a list shows.
const mostNotes = 25

func (c counter) noteList(ctx context.Context, in *bot.In) (bot.Reply, error) {
	seat := c.seat(ctx, in)
	if in.Has("which") {
		id := int64(in.Whole("which"))
		if err := first(in.Err(), stored(seat.Member)); err != nil {
			return bot.Reply{}, err
		}
		n, err := c.reg.NoteFor(ctx, seat.Member, id)
		if err != nil {
			return bot.Reply{}, err
		}
		return c.noteShown(ctx, n, seat.Member.ID)
	}
	d := register.Diary{Variety: c.variety(ctx, in, seat.Coop.ID, seat.Member, "variety").ID, Batch: c.batch(ctx, in, seat.Coop.ID, "batch").ID,
		Spot: in.Text("spot"), Shared: !in.Yes("mine")}
	when := in.Choice("when")
	if err := first(in.Err(), stored(seat.Member)); err != nil {
		return bot.Reply{}, err
	}
	title := "Diary"
	switch when {
	case thisWeek:
		d.From, title = in.Today().Add(-6), "Diary of this week"
	case aYearAgo:
		d.From, d.To = yearAgo(in.Today())
		title = "Diary a year ago this week"
	}
	notes, err := c.reg.Notes(ctx, seat.Member, d, mostNotes+1)
	if err != nil {
		return bot.Reply{}, err
	}
	reply := bot.Reply{Title: title, Private: true}
	c.setNotes(&reply, notes[:min(len(notes), mostNotes)], seat.Member.ID)
	more := ""
	if len(notes) > mostNotes {
		more = fmt.Sprintf("The newest %d are shown. Name a variety, a batch or a spot for those before.", mostNotes)
	}
	if len(notes) == 0 {
		more = "No note is written down there. /note add writes words and photos."
	}
	then, err := c.yearBefore(ctx, in, seat, d, when)
	if err != nil {
		return bot.Reply{}, err
	}
	reply.Text = paragraphs(more, then)
	if in.Yes("file") {
		if reply.Files, err = c.diaryFiles(ctx, seat.Member); err != nil {
			return bot.Reply{}, err
		}
	}
	return reply, c.thumbnails(ctx, &reply, notes)
}

// glimpse gives the first line of a note's words, up to what a row takes.
func glimpse(words string) string {
	if words == "" {
		return "a photo"
	}
	line, rest, _ := strings.Cut(words, "\n")
	if runes := []rune(line); len(runes) > 80 {
		return string(runes[:79]) + "…"
	}
	if rest != "" {
		line += " …"
	}
	return line
}

func (c counter) setNotes(reply *bot.Reply, notes []register.Note, viewer int64) {
	reply.Rows.Columns = bot.Columns("note", "day", "of", "words", "photos", "seen")
	for _, n := range notes {
		seen := "by you"
		switch {
		case n.Member != viewer:
			seen = n.Owner + "'s"
		case n.Shared:
			seen = "by all"
		}
		photos := bot.Cell{}
		if n.Photos > 0 {
			photos = bot.Whole(n.Photos)
		}
		reply.Rows.Add(bot.Whole(int(n.ID)), bot.Day(n.On), textCell(noteOf(n)), bot.Text(glimpse(n.Words)), photos, bot.Text(seen))
		if n.Photos > 0 && len(reply.Next) < 5 {
			reply.Next = append(reply.Next, bot.Next{Label: fmt.Sprintf("Note %d with its photos", n.ID), Request: bot.Typed("/note list", "which", strconv.FormatInt(n.ID, 10))})
		}
	}
}

// mostThumbnails is how many small pictures come with a list.
const mostThumbnails = 4

// thumbnails adds the first photos of the newest notes that have any, small.
func (c counter) thumbnails(ctx context.Context, reply *bot.Reply, notes []register.Note) error {
	for _, n := range notes {
		if n.Photos == 0 || len(reply.Files) == mostThumbnails {
			continue
		}
		photos, err := c.reg.NotePhotos(ctx, n.ID)
		if err != nil || len(photos) == 0 {
			return err
		}
		reply.Files = append(reply.Files, bot.File{Name: fmt.Sprintf("note-%d-small.jpg", n.ID), Type: "image/jpeg",
			Alt: fmt.Sprintf("note %d, %s, small", n.ID, n.On.Long()), Data: photos[0].Small})
	}
	return nil
}
