package discord

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/bwmarrin/discordgo"

	"shortday/bot"
	"shortday/knowledge/fault"
)

// Adapter carries questions from a Connection to a Desk and its replies back.
type Adapter struct {
	conn     *Connection
	desk     *bot.Desk
	log      *slog.Logger
	requests Requests
	homes    Homes
	servers  Servers
	comings  comings

	mu    sync.Mutex
	names map[string]string    // of servers, by id
	seen  map[string]time.Time // when people were found in servers
}

// NewAdapter makes an adapter; Serve opens it.
func NewAdapter(conn *Connection, desk *bot.Desk, requests Requests, homes Homes, servers Servers) *Adapter {
	return &Adapter{
		conn: conn, desk: desk, log: conn.log, requests: requests, homes: homes, servers: servers,
		comings: comings{more: make(chan struct{}, 1)}, names: map[string]string{}, seen: map[string]time.Time{},
	}
}

// Serve registers the commands and answers until the context ends. Of the events, Asked is the adapter's own.
func (a *Adapter) Serve(ctx context.Context, events Events) error {
	events = a.watch(events)
	events.Asked = a.answer
	var helpers sync.WaitGroup
	defer helpers.Wait()
	inner, stop := context.WithCancel(ctx)
	defer stop()
	helpers.Go(func() { a.register(inner) })
	helpers.Go(func() { a.attend(inner) })
	return a.conn.Run(ctx, events)
}

// register registers the commands, as soon as Discord takes them.
func (a *Adapter) register(ctx context.Context) {
	for n := 0; ctx.Err() == nil; n++ {
		sent, err := a.conn.Register(ctx, Commands(a.desk.Families()))
		if err == nil {
			a.log.Info("the commands are registered", "sent", sent)
			return
		}
		a.log.Warn("the commands could not be registered", "err", err)
		_ = sleep(ctx, min(time.Minute, firstPause<<min(n, 10)))
	}
}

// answer answers one turn.
func (a *Adapter) answer(ctx context.Context, t *Turn) {
	ctx, cancel, err := t.left(ctx, completeWithin)
	if err != nil {
		return
	}
	defer cancel()
	ask, err := a.ask(ctx, t)
	if err != nil {
		a.log.Error("looking up who asks", "err", err)
	}
	switch data := t.Interaction.Data.(type) {
	case discordgo.ApplicationCommandInteractionData:
		var focus string
		ask.Request, ask.Fields, focus = read(data)
		if t.Interaction.Type == discordgo.InteractionApplicationCommandAutocomplete {
			err = a.complete(ctx, t, ask, focus)
		} else if err = a.attached(ctx, ask.Fields, data.Resolved); err != nil {
			err = a.refuse(ctx, t, ask, err)
		} else {
			err = a.take(ctx, t, ask)
		}
	case discordgo.MessageComponentInteractionData:
		err = a.press(ctx, t, ask, data)
	case discordgo.ModalSubmitInteractionData:
		err = a.submit(ctx, t, ask, data)
	}
	if err != nil {
		a.log.Warn("an answer did not arrive", "request", ask.Request, "err", err)
	}
}

// ask makes the ask of a turn, without its request.
func (a *Adapter) ask(ctx context.Context, t *Turn) (bot.Ask, error) {
	i := t.Interaction
	ask := bot.Ask{
		Coop: bot.Party{Key: i.GuildID, Name: a.server(i.GuildID)},
		Who:  bot.Party{Key: t.Person.ID, Name: nameOf(i.Member, t.Person)},
		At:   a.at(t), Adapter: "discord", Direct: i.GuildID == "",
	}
	if i.Member == nil || i.GuildID == "" {
		return ask, nil
	}
	var err error
	ask.Governed = true
	ask.Steward, err = a.steward(ctx, i.GuildID, manages(i.Member.Permissions), i.Member.Roles)
	return ask, err
}

func (a *Adapter) server(id string) string {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.names[id]
}

// nameOf gives the name by which people of a server know someone.
func nameOf(m *discordgo.Member, u *discordgo.User) string {
	if m != nil && m.Nick != "" {
		return m.Nick
	}
	if u.GlobalName != "" {
		return u.GlobalName
	}
	return u.Username
}

// take asks a request. In a direct message it first has to be known for which co-op.
func (a *Adapter) take(ctx context.Context, t *Turn, ask bot.Ask) error {
	if ask.Direct && !ask.Governed {
		coops := []bot.Party{ask.Coop}
		if ask.Coop.Key == "" {
			coops = a.coops(ctx, ask.Who.Key)
		}
		if len(coops) > 1 {
			return a.which(ctx, t, ask, coops)
		}
		if len(coops) == 1 {
			refusal, err := a.settle(ctx, &ask, coops[0])
			if err != nil {
				return a.fail(ctx, t, err)
			}
			if refusal != "" {
				return t.Say(ctx, refusal, true)
			}
		}
	}
	if opened, err := a.fill(ctx, t, ask, false); opened {
		return err
	}
	if r, found := a.desk.Request(ask.Request); found && ask.Coop.Key == "" && !r.Anywhere {
		return t.Say(ctx, "It is not known which co-op you mean. Ask "+ask.Request+" once in your co-op's own server; from then on it works here too.", true)
	}
	if err := a.lookFor(ctx, ask); err != nil {
		a.log.Warn("looking for the people whom a request concerns", "err", err)
	}
	return a.send(ctx, t, ask, a.desk.Answer(ctx, ask))
}

// which asks which of a person's co-ops is meant.
func (a *Adapter) which(ctx context.Context, t *Turn, ask bot.Ask, coops []bot.Party) error {
	menu := discordgo.SelectMenu{CustomID: menuSign, Placeholder: "Which co-op?"}
	for _, c := range coops[:min(len(coops), mostOptions)] {
		id, err := a.name(ctx, coopSign, Kept{Request: ask.String(), Coop: c.Key, Who: ask.Who.Key})
		if err != nil {
			return a.fail(ctx, t, err)
		}
		menu.Options = append(menu.Options, discordgo.SelectMenuOption{Label: shorten(c.Name, optionLabel), Value: id})
	}
	m := message{Content: "You belong to several co-ops. Which one do you mean?"}
	if len(coops) > mostOptions {
		m.Content += " These are the first 25; for another, ask in its own server."
	}
	m.put([]discordgo.ActionsRow{{Components: []discordgo.MessageComponent{menu}}})
	return t.send(ctx, []message{m}, false)
}

// fill opens the menu or the form for what a request lacks, or for all of it, and tells whether it did. Once an answer is
// promised a form can no longer be opened; the Desk's refusal then says what to type.
func (a *Adapter) fill(ctx context.Context, t *Turn, ask bot.Ask, all bool) (opened bool, err error) {
	r, found := a.desk.Request(ask.Request)
	missing := r.Missing(ask.Fields)
	if !found || len(missing) == 0 && !all {
		return false, nil
	}
	for _, f := range missing {
		if picked(f.Kind) && !ask.Direct {
			m, err := a.pick(ctx, ask, f)
			if err != nil {
				return true, a.fail(ctx, t, err)
			}
			return true, t.send(ctx, []message{m}, true)
		}
	}
	fields := inputs(r, ask.Fields, all)
	if len(fields) == 0 {
		return false, nil
	}
	if t.Interaction.Type == discordgo.InteractionModalSubmit {
		return false, nil // a form cannot follow a form
	}
	f, err := a.form(ctx, ask, fields)
	if err != nil {
		return true, a.fail(ctx, t, err)
	}
	if err = t.open(ctx, f); errors.Is(err, ErrDoubled) {
		return false, nil
	}
	return true, err
}

// press answers a button or a menu.
func (a *Adapter) press(ctx context.Context, t *Turn, ask bot.Ask, d discordgo.MessageComponentInteractionData) error {
	id := d.CustomID
	if strings.HasPrefix(id, menuSign) {
		if len(d.Values) == 0 {
			return nil
		}
		id, d.Values = d.Values[0], nil
	}
	k, problem := a.meant(ctx, id, ask)
	if problem != "" {
		return t.Say(ctx, problem, true)
	}
	if ask.Direct && k.Coop != "" {
		ask.Coop = bot.Party{Key: k.Coop, Name: a.server(k.Coop)}
	}
	line, change := strings.CutPrefix(strings.TrimPrefix(k.Request, coopSign), changeSign)
	line, pick := strings.CutPrefix(line, pickSign)
	var field string
	if pick {
		field, line, _ = strings.Cut(line, " ")
	}
	var err error
	if ask.Request, ask.Fields, err = a.desk.Read(line); err != nil {
		return a.send(ctx, t, ask, a.desk.AnswerLine(ctx, ask, line))
	}
	if pick && len(d.Values) > 0 {
		ask.Fields = append(ask.Fields, bot.Entry{Field: field, Text: d.Values[0]})
	}
	if change {
		if opened, err := a.fill(ctx, t, ask, true); opened {
			return err
		}
	}
	return a.take(ctx, t, ask)
}

// submit answers a form.
func (a *Adapter) submit(ctx context.Context, t *Turn, ask bot.Ask, d discordgo.ModalSubmitInteractionData) error {
	k, problem := a.meant(ctx, d.CustomID, ask)
	if problem != "" {
		return t.Say(ctx, problem, true)
	}
	if ask.Direct && k.Coop != "" {
		ask.Coop = bot.Party{Key: k.Coop, Name: a.server(k.Coop)}
	}
	line := strings.TrimPrefix(k.Request, formSign)
	request, fields, err := a.desk.Read(line)
	if err != nil {
		return a.send(ctx, t, ask, a.desk.AnswerLine(ctx, ask, line))
	}
	ask.Request, ask.Fields = request, filled(fields, d)
	return a.take(ctx, t, ask)
}

// complete offers what a field may become.
func (a *Adapter) complete(ctx context.Context, t *Turn, ask bot.Ask, focus string) error {
	var typed string
	for _, e := range ask.Fields {
		if e.Field == focus {
			typed = e.Text
		}
	}
	if ask.Direct {
		if coops := a.coops(ctx, ask.Who.Key); len(coops) == 1 && a.there(ctx, coops[0].Key, ask.Who.Key) {
			ask.Coop = coops[0]
		}
	}
	r, _ := a.desk.Request(ask.Request)
	f, _ := r.Field(focus)
	choices := []*discordgo.ApplicationCommandOptionChoice{}
	for _, c := range a.desk.Complete(ctx, ask, focus, typed) {
		if choice, ok := completion(f, c); ok {
			choices = append(choices, choice)
		}
	}
	return t.complete(ctx, choices)
}

// completion makes one of a field's completions; a value that Discord does not take is left out.
func completion(f bot.Field, c bot.Choice) (*discordgo.ApplicationCommandOptionChoice, bool) {
	choice := &discordgo.ApplicationCommandOptionChoice{Name: shorten(strings.TrimSpace(c.Label), optionLabel), Value: c.Value}
	if choice.Name == "" {
		choice.Name = shorten(c.Value, optionLabel)
	}
	if f.Kind == bot.WholeKind || f.Kind == bot.NumberKind {
		n, err := strconv.ParseFloat(c.Value, 64)
		choice.Value = n
		return choice, err == nil
	}
	return choice, c.Value != "" && length(c.Value) <= optionLabel
}

// send renders a reply and sends it. After a form that was refused, another offers to change what was filled in.
func (a *Adapter) send(ctx context.Context, t *Turn, ask bot.Ask, r bot.Reply) error {
	private := r.Private && !ask.Direct
	k := Kept{Coop: ask.Coop.Key}
	if r.Private {
		k.Who = ask.Who.Key
	}
	messages := render(a.named(ctx, ask.Coop.Key, r), mostCards)
	rows, err := a.offer(ctx, askSign, r.Next, k)
	if err != nil {
		return a.fail(ctx, t, err)
	}
	if label := a.reopens(t, ask, r, rows); label != "" {
		k.Request, k.Who = ask.String(), ask.Who.Key
		id, err := a.name(ctx, changeSign, k)
		if err != nil {
			return a.fail(ctx, t, err)
		}
		button := discordgo.Button{Label: label, Style: discordgo.SecondaryButton, CustomID: id}
		rows = append(rows, discordgo.ActionsRow{Components: []discordgo.MessageComponent{button}})
	}
	messages[len(messages)-1].put(rows)
	err = t.send(ctx, messages, private)
	if err == nil && a.closed(ctx, ask) {
		err = t.note(ctx, paused)
	}
	return err
}

// reopens gives what a button that opens a form is called, "" where there is to be none: after a form that was refused,
// to change what was filled in, and after a request that shows what is set when nothing is told.
func (a *Adapter) reopens(t *Turn, ask bot.Ask, r bot.Reply, rows []discordgo.ActionsRow) string {
	asked, _ := a.desk.Request(ask.Request)
	switch {
	case len(rows) == mostRows:
		return ""
	case r.Refusal != nil && r.Refusal.Kind == fault.Unclear && t.Interaction.Type == discordgo.InteractionModalSubmit:
		return "Change it"
	case r.Refusal == nil && len(asked.Form) > 0 && len(ask.Fields) == 0:
		return "Fill in a form"
	}
	return ""
}

// refuse says why a request is not answered.
func (a *Adapter) refuse(ctx context.Context, t *Turn, ask bot.Ask, err error) error {
	refusal, ok := errors.AsType[*fault.Error](err)
	if !ok {
		return a.fail(ctx, t, err)
	}
	return a.send(ctx, t, ask, bot.Reply{Private: true, Refusal: &bot.Refusal{Kind: refusal.Kind, Text: refusal.Text}})
}

// fail says that something failed on our side, and logs it.
func (a *Adapter) fail(ctx context.Context, t *Turn, err error) error {
	a.log.Error("answering", "err", err)
	return t.Say(ctx, failed, true)
}

// Deliver posts a reply of our own accord, in a channel of a co-op or the direct one of a person, under the key of its
// notice; only those named are pinged. It gives the message's id.
func (a *Adapter) Deliver(ctx context.Context, channel, coop, key string, r bot.Reply, pings ...string) (id string, err error) {
	return a.deliver(ctx, channel, askSign, Kept{Coop: coop}, key, r, pings)
}

// deliver posts; the sign says what its buttons do, and k for whom.
func (a *Adapter) deliver(ctx context.Context, channel, sign string, k Kept, key string, r bot.Reply, pings []string) (id string, err error) {
	for i, m := range render(a.named(ctx, k.Coop, r), 1) {
		next := []bot.Next{{Label: "What can I ask?", Request: "/help"}}
		part := key
		if i > 0 {
			part, pings = fmt.Sprintf("%s/%d", key, i+1), nil
		} else if len(r.Next) > 0 {
			next = r.Next
		}
		rows, err := a.posted(ctx, sign, next, k)
		if err != nil {
			return id, err
		}
		sent, err := a.conn.post(ctx, channel, part, m, rows, pings)
		if err != nil {
			return id, err
		}
		if i == 0 {
			id = sent
		}
	}
	return id, nil
}

// posted makes the rows of a post: buttons first, since a button carries the post's key.
func (a *Adapter) posted(ctx context.Context, sign string, next []bot.Next, k Kept) ([]discordgo.ActionsRow, error) {
	few := min(len(next), mostButtons)
	rows, err := a.offer(ctx, sign, next[:few], k)
	if err != nil {
		return nil, err
	}
	more, err := a.offer(ctx, sign, next[few:], k)
	return append(rows, more...), err
}
