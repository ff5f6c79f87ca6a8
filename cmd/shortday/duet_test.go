package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"shortday/bot"
	"shortday/bot/bottest"
	"shortday/bot/discord"
	"shortday/bot/discord/discordtest"
	"shortday/bot/requests"
	"shortday/bot/terminal"
	"shortday/knowledge/calendar"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

// duet plays each turn in the terminal and in Discord.
type duet struct {
	*conversation
	count   *tally
	service *discordtest.Service
	path    string // of Discord's register
	reg     *register.Register
	stop    func() error

	mu      sync.Mutex
	now     time.Time
	guilds  map[string]*discordtest.Guild
	members map[string]*discordtest.Member // by "who in co-op"
	last    map[string]discordtest.Message // what each was answered
}

func openDuet(ctx context.Context, dir string, schema *discordtest.Schema, count *tally) (*duet, error) {
	played, err := openConversation(ctx, dir)
	if err != nil {
		return nil, err
	}
	d := &duet{
		conversation: played.(*conversation), count: count, path: filepath.Join(dir, "discord.db"),
		guilds: map[string]*discordtest.Guild{}, members: map[string]*discordtest.Member{}, last: map[string]discordtest.Message{},
	}
	if d.service, err = discordtest.Start(discordtest.Options{Now: time.Now, Schema: schema}); err != nil {
		return nil, err
	}
	return d, d.serve(ctx)
}

// serve connects the second register to Discord.
func (d *duet) serve(ctx context.Context) (err error) {
	if d.reg, err = register.Open(ctx, d.path); err != nil {
		return err
	}
	h := &house{reg: d.reg, now: d.clock}
	quiet := slog.New(slog.DiscardHandler)
	conn, err := discord.New(discord.Options{Token: discordtest.Token, URL: d.service.URL(), Now: time.Now, Log: quiet, Identifies: h.identifies()})
	if err != nil {
		return err
	}
	servers := h.servers()
	servers.Greeting = nil
	adapter := discord.NewAdapter(conn, requests.NewDesk(d.reg, quiet), h.requests(), h.homes(), servers)
	ctx, cancel := context.WithCancel(ctx)
	ended := make(chan error, 1)
	go func() { ended <- adapter.Serve(ctx, discord.Events{}) }()
	d.stop = func() error {
		cancel()
		return errors.Join(<-ended, d.reg.Close())
	}
	return errors.Join(d.service.AwaitReady(1, within), d.service.AwaitCommands(within))
}

func (d *duet) clock() time.Time {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.now
}

func (d *duet) Restart(ctx context.Context) error {
	return errors.Join(d.conversation.Restart(ctx), d.stop(), d.serve(ctx))
}

func (d *duet) Close() error {
	err := errors.Join(d.conversation.Close(), d.stop())
	d.service.Close()
	return errors.Join(append(d.service.Violations(), err)...)
}

func (d *duet) Say(ctx context.Context, turn bottest.Turn) (string, error) {
	if turn.Coop == "" {
		turn.Coop = "Hollow Lane"
	}
	who := turn.Who + " in " + turn.Coop
	offered := d.offered[who]
	member, err := d.member(ctx, turn)
	if err != nil {
		return "", err
	}
	if err := d.set(ctx, turn); err != nil {
		return "", err
	}
	shown, reply, err := d.answer(ctx, turn)
	if err != nil {
		return shown, err
	}
	asked, held, err := d.ask(member, who, turn, offered)
	if held != nil && reply.Refusal == nil {
		return shown, fmt.Errorf("the client holds back what the terminal answers: %w", held)
	}
	d.count.add(held != nil || asked == nil)
	if err != nil || held != nil || asked == nil {
		return shown, err
	}
	return shown, d.compare(who, asked, reply)
}

// set sets Discord's clock to the asker's.
func (d *duet) set(ctx context.Context, turn bottest.Turn) error {
	at := turn.At
	seat, err := d.conversation.reg.Find(ctx, party(turn.Coop).Key, party(turn.Who).Key)
	if zone := seat.Place().Zone; err == nil && turn.Clock && zone != "" {
		var place *time.Location
		if place, err = time.LoadLocation(zone); err == nil {
			at, _ = calendar.At(calendar.DayAt(at), at.Hour(), at.Minute(), place)
		}
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	d.now = at
	return err
}

// member gives who asks in Discord, with a steward's right if the terminal's register says so.
func (d *duet) member(ctx context.Context, turn bottest.Turn) (*discordtest.Member, error) {
	guild := d.guilds[turn.Coop]
	if guild == nil {
		guild = d.service.AddGuild(turn.Coop)
		guild.AddChannel("talk")
		d.guilds[turn.Coop] = guild
	}
	who := turn.Who + " in " + turn.Coop
	if d.members[who] == nil {
		for other, m := range d.members {
			if strings.HasPrefix(other, turn.Who+" in ") {
				d.members[who] = guild.Join(m.User, 0)
			}
		}
	}
	if d.members[who] == nil {
		d.members[who] = guild.AddMember(turn.Who, 0)
	}
	seat, err := d.conversation.reg.Find(ctx, party(turn.Coop).Key, party(turn.Who).Key)
	d.members[who].Allow(0)
	if seat.Coop.ID == 0 || seat.Member.Steward {
		d.members[who].Allow(discordtest.ManageServer)
	}
	return d.members[who], err
}

// ask asks a turn in Discord; held is why Discord's own client would not let it through. It gives nothing for what
// Discord asks in another way than the terminal: a form in place of a refusal, and stewards by a role.
func (d *duet) ask(m *discordtest.Member, who string, turn bottest.Turn, offered []bot.Next) (asked *discordtest.Interaction, held, err error) {
	channel := d.guilds[turn.Coop].Channels()[0]
	if n, err := strconv.Atoi(turn.Request); err == nil && n > 0 && n <= len(offered) {
		asked, err := d.press(m, d.last[who], offered[n-1].Label)
		if err != nil {
			return nil, nil, err
		}
		_, form := asked.Form()
		if form == nil {
			return nil, nil, nil
		}
		return asked, nil, nil
	}
	request, fields, held := d.desk.Read(turn.Request)
	if held != nil {
		return nil, held, nil
	}
	r, _ := d.desk.Request(request)
	named := func(e bot.Entry) bool { return e.Field == "steward" || e.Field == "stand-down" }
	if request == "/coop setup" && slices.ContainsFunc(fields, named) {
		return nil, nil, d.setWithoutStewards(m, channel, r, turn, fields)
	}
	values, err := d.values(r, fields, turn)
	if err != nil {
		return nil, nil, err
	}
	asked, held = m.Slash(channel, request, values)
	if held != nil {
		return nil, held, nil
	}
	if _, form := asked.Form(); form == nil {
		return nil, nil, nil
	}
	if request == "/coop notices" || slices.ContainsFunc(fields, func(e bot.Entry) bool { return e.Field == "channel" }) {
		_, err := asked.Wait() // a terminal has neither channels nor roles, and answers for what it has
		return nil, nil, err
	}
	return asked, nil, nil
}

// setWithoutStewards sets a co-op up without naming stewards, which Discord alone does, and looks that it was refused.
func (d *duet) setWithoutStewards(m *discordtest.Member, channel *discordtest.Channel, r bot.Request, turn bottest.Turn, fields []bot.Entry) error {
	var others []bot.Entry
	for _, e := range fields {
		if e.Field != "steward" && e.Field != "stand-down" {
			others = append(others, e)
		}
	}
	for _, some := range [][]bot.Entry{fields, others} {
		values, err := d.values(r, some, turn)
		if err != nil {
			return err
		}
		asked, held := m.Slash(channel, "/coop setup", values)
		if held != nil {
			continue // nobody of that name is there to be picked
		}
		got, err := asked.Wait()
		if err != nil {
			return err
		}
		if refused := strings.Contains(got.Text(), "manage the server"); refused != (len(some) > len(others)) {
			return fmt.Errorf("stewards named by a request: %s", got.Text())
		}
	}
	for who, other := range d.members { // what they are now shows once they ask
		seat, err := d.conversation.reg.Find(context.Background(), party(turn.Coop).Key, party(other.User.Name).Key)
		if err != nil || seat.Zero() || who != other.User.Name+" in "+turn.Coop {
			continue
		}
		other.Allow(map[bool]discordtest.Right{true: discordtest.ManageServer}[seat.Member.Steward])
		asked, err := other.Slash(channel, "/coop show", nil)
		if err != nil {
			return err
		}
		if _, err := asked.Wait(); err != nil {
			return err
		}
	}
	return nil
}

// press presses the button of a label, or picks it in a menu.
func (d *duet) press(m *discordtest.Member, under discordtest.Message, label string) (*discordtest.Interaction, error) {
	for _, c := range under.Buttons() {
		for _, o := range c.Options {
			if same(o.Label, label) {
				return m.Press(under, c.Placeholder, o.Label)
			}
		}
		if c.Label != "" && same(c.Label, label) {
			return m.Press(under, c.Label)
		}
	}
	return nil, fmt.Errorf("nothing offers %q under %s", label, under.Text())
}

// values gives what one would type into Discord's fields.
func (d *duet) values(r bot.Request, fields []bot.Entry, turn bottest.Turn) (discordtest.Values, error) {
	values := discordtest.Values{}
	for _, e := range fields {
		f, _ := r.Field(e.Field)
		text := e.Text
		switch f.Kind {
		case bot.YesKind:
			text = map[string]string{"yes": "true", "no": "false"}[strings.ToLower(text)]
		case bot.WholeKind, bot.NumberKind:
			text = strings.TrimSpace(strings.TrimSuffix(text, "%"))
		case bot.ChoiceKind:
			for _, c := range f.Choices {
				if strings.EqualFold(c.Value, text) || strings.EqualFold(c.Label, text) {
					text = c.Value
				}
			}
		case bot.MemberKind:
			for _, m := range d.members {
				if variety.Fold(m.User.Name) == variety.Fold(text) {
					text = m.User.Name
				}
			}
		case bot.ChannelKind:
			guild := d.guilds[turn.Coop]
			if !slices.ContainsFunc(guild.Channels(), func(c *discordtest.Channel) bool { return c.Name == strings.TrimPrefix(text, "#") }) {
				guild.AddChannel(strings.TrimPrefix(text, "#"))
			}
		case bot.RoleKind:
			text = d.guilds[turn.Coop].AddRole(text).ID
		case bot.FileKind:
			file, err := terminal.Files(turn.Dir)(text)
			if err != nil {
				continue // there is nothing to send along
			}
			text = d.service.Upload(file.Name, file.Type, file.Data)
		}
		values[e.Field] = text
	}
	return values, nil
}
