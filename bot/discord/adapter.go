package discord

import (
	"context"
	"log/slog"
	"sync"
	"time"

	"github.com/bwmarrin/discordgo"

	"shortday/bot"
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
		a.wrong(ctx, "looking up who asks", err)
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
		At:   a.at(t), Adapter: "discord", Direct: i.GuildID == "", Progress: t.Progress,
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
