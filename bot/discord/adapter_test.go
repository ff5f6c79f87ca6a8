package discord_test

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/bot"
	"shortday/bot/discord"
	"shortday/bot/discord/discordtest"
	"shortday/knowledge/fault"
)

// shed is a family that shows what an adapter has to carry.
func shed() []bot.Family {
	wide := bot.Table{Columns: bot.Columns("variety", "place", "what is due there", "until")}
	narrow := bot.Table{Columns: bot.Columns("tool", "count")}
	for n := range 300 {
		narrow.Add(bot.Text(fmt.Sprintf("rake %d", n)), bot.Whole(n))
	}
	wide.Add(bot.Text("Gilt *Edge*"), bot.Text("the long glasshouse"), bot.Text("take the tip out of each"), bot.Cell{})
	says := func(r bot.Reply) func(context.Context, *bot.In) (bot.Reply, error) {
		return func(context.Context, *bot.In) (bot.Reply, error) { return r, nil }
	}
	return []bot.Family{
		{Name: "shed", Help: "What stands in the shed", Requests: []bot.Request{
			{Name: "add", Help: "Put tools in the shed", Examples: []string{"/shed add tool:rake count:2"}, Fields: []bot.Field{
				{Name: "tool", Help: "what it is called", Kind: bot.NamedKind, Required: true, Complete: tools},
				{Name: "count", Help: "how many", Kind: bot.WholeKind, Required: true, Min: new(1.0), Max: new(99.0)},
				{Name: "sharp", Help: "whether it cuts", Kind: bot.YesKind},
				{Name: "wood", Help: "what the handle is of", Kind: bot.ChoiceKind, Choices: bot.Choices("ash", "beech")},
				{Name: "bought", Help: "the day it was bought", Kind: bot.DayKind},
				{Name: "story", Help: "where it came from", Kind: bot.LongTextKind},
			}, Handle: add},
			{Name: "lend", Help: "Lend a tool", Examples: []string{"/shed lend to:Tam"}, Fields: []bot.Field{
				{Name: "to", Help: "who takes it", Kind: bot.MemberKind, Required: true},
				{Name: "by", Help: "where it is handed over", Kind: bot.ChannelKind},
				{Name: "quietly", Help: "so that nobody else hears of it", Kind: bot.YesKind},
			}, Handle: func(_ context.Context, in *bot.In) (bot.Reply, error) {
				return bot.Reply{Text: "lent to " + in.Text("to") + " " + in.Text("by"), Private: in.Yes("quietly")}, nil
			}},
			{Name: "paint", Help: "How the shed looks", Examples: []string{"/shed paint colour:green"}, Form: []string{"colour", "coats"}, Fields: []bot.Field{
				{Name: "colour", Help: "what it is painted", Kind: bot.TextKind, Required: true},
				{Name: "picture", Help: "what it looks like", Kind: bot.FileKind},
				{Name: "coats", Help: "how often", Kind: bot.WholeKind},
			}, Handle: func(_ context.Context, in *bot.In) (bot.Reply, error) {
				f, coats := in.File("picture"), in.Whole("coats")
				return bot.Reply{Text: fmt.Sprintf("%s %d %s %s %d", in.Text("colour"), coats, f.Name, f.Type, len(f.Data))}, nil
			}},
			{Name: "set", Help: "How the shed is kept", Examples: []string{"/shed set"}, Form: []string{"lock"}, Fields: []bot.Field{
				{Name: "lock", Help: "what locks it", Kind: bot.TextKind},
			}, Handle: func(_ context.Context, in *bot.In) (bot.Reply, error) {
				return bot.Reply{Text: "lock " + in.Text("lock")}, nil
			}},
			{Name: "wide", Help: "A wide table", Examples: []string{"/shed wide"}, Handle: says(bot.Reply{Title: "Wide", Rows: wide})},
			{Name: "narrow", Help: "A long table", Examples: []string{"/shed narrow"}, Handle: says(bot.Reply{Title: "Tools", Rows: narrow})},
			{Name: "book", Help: "A very long text", Examples: []string{"/shed book"}, Handle: says(bot.Reply{Title: "Book", Text: strings.Repeat("A line of it.\n\n", 2000)})},
			{Name: "secret", Help: "For the asker", Examples: []string{"/shed secret"}, Handle: says(bot.Reply{Text: "sh", Private: true})},
			{Name: "slow", Help: "Takes two seconds", Examples: []string{"/shed slow"}, Fields: []bot.Field{{Name: "private", Help: "for the asker alone", Kind: bot.YesKind}},
				Handle: func(_ context.Context, in *bot.In) (bot.Reply, error) {
					time.Sleep(2 * time.Second)
					return bot.Reply{Text: "at last", Private: in.Yes("private")}, nil
				}},
			{Name: "chart", Help: "A picture", Examples: []string{"/shed chart"}, Handle: says(bot.Reply{Title: "Year", Files: []bot.File{
				{Name: "the year.png", Type: "image/png", Alt: "Bars from March to October", Data: []byte("png")}}})},
			{Name: "many", Help: "Much to choose from", Examples: []string{"/shed many"}, Handle: many},
			{Name: "burn", Help: "Burn it down", Examples: []string{"/shed burn"}, Right: bot.Steward, Confirm: "All of it?", Handle: says(bot.Reply{Text: "burnt"})},
			{Name: "offer", Help: "Something to fill in", Examples: []string{"/shed offer"}, Handle: says(bot.Reply{Text: "What now?", Next: []bot.Next{
				{Label: "Add a tool", Request: "/shed add"}, {Label: "Lend one", Request: "/shed lend"},
				{Label: "A long one", Request: bot.Typed("/shed add", "tool", "rake", "count", "3", "story", strings.Repeat("long ago ", 40))}}})},
		}},
		{Name: "where", Help: "Which co-op this is", Requests: []bot.Request{{Examples: []string{"/where"}, Help: "The co-op",
			Fields: []bot.Field{{Name: "name", Help: "its name", Kind: bot.NamedKind, Complete: func(_ context.Context, in *bot.In, _ string) ([]bot.Choice, error) {
				return bot.Choices("in " + in.Coop.Name), nil
			}}},
			Handle: func(_ context.Context, in *bot.In) (bot.Reply, error) {
				return bot.Reply{Text: fmt.Sprintf("%s in %s", in.Who.Name, in.Coop.Name)}, nil
			}}}},
	}
}

func tools(_ context.Context, _ *bot.In, typed string) ([]bot.Choice, error) {
	return bot.Matching(bot.Choices("rake", "spade", strings.Repeat("x", 101)), typed), nil
}

func many(context.Context, *bot.In) (bot.Reply, error) {
	r := bot.Reply{Text: "Choose."}
	for n := range 60 {
		r.Next = append(r.Next, bot.Next{Label: fmt.Sprint("rake ", n), Request: fmt.Sprintf("/shed add tool:rake%d count:1", n)})
	}
	return r, nil
}

func add(_ context.Context, in *bot.In) (bot.Reply, error) {
	tool, count, sharp, wood, day, story := in.Text("tool"), in.Whole("count"), in.Yes("sharp"), in.Choice("wood"), in.Day("bought"), in.Text("story")
	if in.Err() == nil && tool == "axe" {
		return bot.Reply{}, fault.New(fault.Taken, "There is an axe. Choose another name.")
	}
	return bot.Reply{Text: fmt.Sprintf("%s %d %t %s %s %d", tool, count, sharp, wood, day, len(story))}, in.Err()
}

// memory keeps what does not fit on a button, as the register will.
type memory struct {
	mu   sync.Mutex
	kept map[string]discord.Kept
}

func (m *memory) requests() discord.Requests {
	return discord.Requests{
		Keep: func(_ context.Context, k discord.Kept) (string, error) {
			m.mu.Lock()
			defer m.mu.Unlock()
			key := discord.NewKey()
			m.kept[key] = k
			return key, nil
		},
		Kept: func(_ context.Context, key string) (discord.Kept, bool, error) {
			m.mu.Lock()
			defer m.mu.Unlock()
			k, found := m.kept[key]
			return k, found, nil
		},
	}
}

// counter is a bench whose connection leads to a desk.
type counter struct {
	*bench
	adapter *discord.Adapter
	memory  *memory
	coops   []bot.Party
	stop    func() // ends the adapter, and waits for that

	mu   sync.Mutex
	left []string // people of whom it was kept that they left
}

func (c *counter) away() []string {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.left
}

func open(t *testing.T) *counter {
	t.Helper()
	c := outfit(t)
	c.open(t, discord.Homes{
		Steward: func(_ context.Context, _ string, roles []string) (bool, error) { return len(roles) > 0, nil },
		Away: func(_ context.Context, _, person string) error {
			c.mu.Lock()
			defer c.mu.Unlock()
			c.left = append(c.left, person)
			return nil
		},
	}, discord.Servers{})
	return c
}

// outfit makes a counter that is not open yet.
func outfit(t *testing.T) *counter {
	t.Helper()
	return &counter{bench: dial(t, serve(t, discordtest.Options{}), discord.Options{}), memory: &memory{kept: map[string]discord.Kept{}}}
}

// open opens the counter; it closes with the test.
func (c *counter) open(t *testing.T, homes discord.Homes, servers discord.Servers) {
	t.Helper()
	standing := func(context.Context, bot.Ask) (bot.Standing, error) { return bot.Standing{Right: bot.Member}, nil }
	desk := bot.NewDesk(shed(), standing, nil)
	homes.Coops = func(context.Context, string) ([]bot.Party, error) { return c.coops, nil }
	c.adapter = discord.NewAdapter(c.conn, desk, c.memory.requests(), homes, servers)
	ctx, cancel := context.WithCancel(context.Background())
	var running sync.WaitGroup
	running.Go(func() { c.ended <- c.adapter.Serve(ctx, discord.Events{}) })
	c.stop = func() {
		cancel()
		running.Wait()
	}
	t.Cleanup(c.stop)
	require.NoError(t, c.service.AwaitReady(1, recovery))
	require.NoError(t, c.service.AwaitCommands(recovery))
}

// ask asks a command and gives its answer.
func (c *counter) ask(t *testing.T, command string, values discordtest.Values) discordtest.Message {
	t.Helper()
	asked, err := c.member.Slash(c.channel, command, values)
	require.NoError(t, err)
	got, err := asked.Wait()
	require.NoError(t, err, c.log)
	return got
}

// press presses a button or uses a menu and gives the answer.
func (c *counter) press(t *testing.T, m discordtest.Message, label string, picks ...string) discordtest.Message {
	t.Helper()
	asked, err := c.member.Press(m, label, picks...)
	require.NoError(t, err)
	got, err := asked.Wait()
	require.NoError(t, err, c.log)
	return got
}

func TestCommandsCarryFields(t *testing.T) {
	t.Parallel()
	c := open(t)
	got := c.ask(t, "/shed add", discordtest.Values{"tool": "rake", "count": "3", "sharp": "true", "wood": "ash", "bought": "2027-03-01"})
	require.Equal(t, "rake 3 true ash 2027-03-01 0", got.Text())
	_, err := c.member.Slash(c.channel, "/shed add", discordtest.Values{"tool": "rake", "count": "300"})
	require.ErrorContains(t, err, "count", "the client knows the bounds")
	got = c.ask(t, "/shed lend", discordtest.Values{"to": "Orla", "by": "#swaps"})
	require.Equal(t, "lent to "+c.member.User.ID+" #swaps", got.Text())
	require.Equal(t, "Orla in Weir Lane Growers", c.ask(t, "/where", nil).Text())
}

func TestNamesDoNothing(t *testing.T) {
	t.Parallel()
	c := open(t)
	for typed, shown := range map[string]string{
		"**Gilt**":                     `\*\*Gilt\*\*`,
		"@everyone":                    "@\u200beveryone",
		"<@123> <#4> <t:1:D>":          "\\<@\u200b123> \\<#4> \\<t:1:D>",
		"https://x.example discord.gg": "https\u200b://x.example discord\u200b.gg",
		"[a](b)":                       `\[a\](b)`,
		"# big":                        `\# big`,
		"1. one":                       `1\. one`,
		"`code` ||spoiler||":           "\\`code\\` \\|\\|spoiler\\|\\|",
	} {
		got := c.ask(t, "/shed add", discordtest.Values{"tool": typed, "count": "3"})
		require.Equal(t, shown+" 3 false   0", got.Text())
		require.Empty(t, got.Pings)
	}
}

func TestCompletion(t *testing.T) {
	t.Parallel()
	c := open(t)
	choices, err := c.member.Complete(c.channel, "/shed add", discordtest.Values{"tool": "sp", "count": "3"}, "tool")
	require.NoError(t, err)
	require.Len(t, choices, 1)
	require.Equal(t, "spade", choices[0].Name)
	choices, err = c.member.Complete(c.channel, "/shed add", discordtest.Values{"tool": "x"}, "tool")
	require.NoError(t, err)
	require.Empty(t, choices, "a value too long to be sent is not offered")
	choices, err = c.member.Complete(c.channel, "/shed add", discordtest.Values{"bought": "1 mar 2027"}, "bought")
	require.NoError(t, err)
	require.Equal(t, "Mon 1 Mar 2027", choices[0].Name)
}

func TestCards(t *testing.T) {
	t.Parallel()
	c := open(t)
	wide := c.ask(t, "/shed wide", nil)
	require.Equal(t, "Wide", wide.Embeds[0].Title)
	require.Equal(t, "**Gilt \\*Edge\\***\nplace the long glasshouse · what is due there take the tip out of each", wide.Embeds[0].Description)

	asked, err := c.member.Slash(c.channel, "/shed narrow", nil)
	require.NoError(t, err)
	first, err := asked.Wait()
	require.NoError(t, err)
	rest, err := asked.FollowUps(1, recovery)
	require.NoError(t, err)
	all := first.Text() + rest[0].Text()
	for n := range 300 {
		require.Contains(t, all, fmt.Sprintf("rake %d ", n))
	}
	require.Equal(t, "1 of 2", first.Embeds[0].Footer.Text)
	require.Contains(t, first.Text(), "```\ntool      count\nrake 0        0\n")

	book := c.ask(t, "/shed book", nil)
	require.Contains(t, book.Text(), "The whole is in the attached file")
	require.Contains(t, string(book.Attachments[0].Data), strings.Repeat("A line of it.\n\n", 1999))

	chart := c.ask(t, "/shed chart", nil)
	require.Equal(t, "attachment://the-year.png", chart.Embeds[0].Image.URL)
	require.Equal(t, "Bars from March to October", chart.Attachments[0].Description)
}

func TestPrivacy(t *testing.T) {
	t.Parallel()
	c := open(t)
	require.True(t, c.ask(t, "/shed secret", nil).Private)
	require.False(t, c.ask(t, "/shed wide", nil).Private)
	refused := c.ask(t, "/shed burn", nil)
	require.True(t, refused.Private)
	require.Contains(t, refused.Text(), "Only a steward")
}

func TestSlowAnswers(t *testing.T) {
	t.Parallel()
	c := open(t)
	asked, err := c.member.Slash(c.channel, "/shed slow", discordtest.Values{"private": "true"})
	require.NoError(t, err)
	behind, err := c.member.Slash(c.channel, "/shed secret", nil) // waits behind the slow one, beyond 3 s of nothing
	require.NoError(t, err)
	got, err := asked.Wait()
	require.NoError(t, err)
	require.Equal(t, "at last", got.Text())
	require.True(t, got.Private)
	require.True(t, asked.Deferred())
	require.GreaterOrEqual(t, asked.Took(), 1500*time.Millisecond)
	require.Less(t, asked.Took(), 3*time.Second, "what the platform waits")
	if *quiet {
		require.InDelta(t, 1.5, asked.Took().Seconds(), 0.1)
	}
	got, err = behind.Wait()
	require.NoError(t, err)
	require.Equal(t, "sh", got.Text())

	public, err := c.member.Slash(c.channel, "/shed slow", nil)
	require.NoError(t, err)
	got, err = public.Wait()
	require.NoError(t, err)
	require.Contains(t, got.Text(), "below")
	below, err := public.FollowUps(1, recovery)
	require.NoError(t, err)
	require.Equal(t, "at last", below[0].Text())
	require.False(t, below[0].Private)
}

func TestStewards(t *testing.T) {
	t.Parallel()
	c := open(t)
	c.guild.AddRole("stewards", c.member)
	got := c.ask(t, "/shed burn", nil)
	require.Equal(t, "All of it?", got.Text())
	require.Equal(t, "burnt", c.press(t, got, "Yes, do it").Text())
	manager := c.guild.AddMember("Wen", discordtest.ManageServer)
	asked, err := manager.Slash(c.channel, "/shed burn", nil)
	require.NoError(t, err)
	got, err = asked.Wait()
	require.NoError(t, err)
	require.Equal(t, "All of it?", got.Text())
}

func TestMenus(t *testing.T) {
	t.Parallel()
	c := open(t)
	got := c.ask(t, "/shed many", nil)
	require.Len(t, got.Buttons(), 3)
	require.Contains(t, c.press(t, got, "What next?", "rake 7").Text(), "rake7 1")
	require.Contains(t, c.press(t, got, "What next? (3)", "rake 59").Text(), "rake59 1")
}

func TestForms(t *testing.T) {
	t.Parallel()
	c := open(t)
	offered := c.ask(t, "/shed offer", nil)
	asked, err := c.member.Press(offered, "Add a tool")
	require.NoError(t, err)
	form, err := asked.Form()
	require.NoError(t, err)
	require.Len(t, form.Inputs, 5)
	_, err = c.member.Submit(form, discordtest.Values{"tool": "rake"})
	require.ErrorContains(t, err, "count")
	sent, err := c.member.Submit(form, discordtest.Values{"tool": "rake", "count": "plenty", "wood": "ash"})
	require.NoError(t, err)
	refused, err := sent.Wait()
	require.NoError(t, err)
	require.Contains(t, refused.Text(), "no whole number")
	asked, err = c.member.Press(refused, "Change it")
	require.NoError(t, err)
	form, err = asked.Form()
	require.NoError(t, err)
	sent, err = c.member.Submit(form, discordtest.Values{"count": "4"})
	require.NoError(t, err)
	got, err := sent.Wait()
	require.NoError(t, err)
	require.Contains(t, got.Text(), "rake 4 false ash")

	pick := c.press(t, offered, "Lend one")
	require.True(t, pick.Private)
	require.Equal(t, "lent to "+c.member.User.ID, strings.TrimSpace(c.press(t, pick, "who takes it", c.member.User.ID).Text()))
}

// TestLongerRequestsHaveForms: asked with nothing, one that lacks something opens its form, and one that shows what is set
// offers it.
func TestLongerRequestsHaveForms(t *testing.T) {
	t.Parallel()
	c := open(t)
	asked, err := c.member.Slash(c.channel, "/shed paint", nil)
	require.NoError(t, err)
	form, err := asked.Form()
	require.NoError(t, err)
	require.Equal(t, []string{"colour", "coats"}, []string{form.Inputs[0].Label, form.Inputs[1].Label})
	sent, err := c.member.Submit(form, discordtest.Values{"colour": "green", "coats": "2"})
	require.NoError(t, err)
	got, err := sent.Wait()
	require.NoError(t, err)
	require.Equal(t, "green 2   0", got.Text())

	set := c.ask(t, "/shed set", nil)
	asked, err = c.member.Press(set, "Fill in a form")
	require.NoError(t, err)
	form, err = asked.Form()
	require.NoError(t, err)
	sent, err = c.member.Submit(form, discordtest.Values{"lock": "oak bar"})
	require.NoError(t, err)
	got, err = sent.Wait()
	require.NoError(t, err)
	require.Equal(t, "lock oak bar", got.Text())
	require.Empty(t, got.Buttons())
}

// TestFilesComeIn: a file sent along is fetched at once, without the token, and one that is too large is not.
func TestFilesComeIn(t *testing.T) {
	t.Parallel()
	c := open(t)
	small := c.service.Upload("shed.png", "image/png", []byte("a picture"))
	require.Equal(t, "green 0 shed.png image/png 9", c.ask(t, "/shed paint", discordtest.Values{"colour": "green", "picture": small}).Text())
	large := c.service.Upload("shed.png", "image/png", make([]byte, bot.Largest+1))
	require.Contains(t, c.ask(t, "/shed paint", discordtest.Values{"colour": "green", "picture": large}).Text(), "more than 20 MB")
	c.service.Forget(small)
	require.Contains(t, c.ask(t, "/shed paint", discordtest.Values{"colour": "green", "picture": small}).Text(), "Send it again")
}

// TestPausedReminders: whose direct messages were closed to a reminder reads so at the next request, alone, and once.
func TestPausedReminders(t *testing.T) {
	t.Parallel()
	c := outfit(t)
	var closed atomic.Bool
	closed.Store(true)
	c.open(t, discord.Homes{
		Reach:   func(context.Context, string, string) (bool, error) { return closed.Load(), nil },
		Reached: func(context.Context, string, string) error { closed.Store(false); return nil },
	}, discord.Servers{})
	for _, notes := range []int{1, 0} {
		asked, err := c.member.Slash(c.channel, "/where", nil)
		require.NoError(t, err)
		_, err = asked.Wait()
		require.NoError(t, err)
		told, err := asked.FollowUps(1, 300*time.Millisecond)
		require.Equal(t, notes == 0, err != nil)
		require.Len(t, told, notes)
		if notes > 0 {
			require.True(t, told[0].Private)
			require.Contains(t, told[0].Text(), "reminders paused")
		}
	}
}

// TestKeptRequests: what does not fit on a button is kept, for its co-op, also for a program started anew.
func TestKeptRequests(t *testing.T) {
	t.Parallel()
	c := open(t)
	offered := c.ask(t, "/shed offer", nil)
	require.Contains(t, c.press(t, offered, "A long one").Text(), "rake 3 false   359")
	for key, k := range c.memory.kept {
		require.Equal(t, c.guild.ID, k.Coop)
		k.Who = "somebody else"
		c.memory.kept[key] = k
	}
	require.Contains(t, c.press(t, offered, "A long one").Text(), "somebody else's")
	clear(c.memory.kept)
	require.Contains(t, c.press(t, offered, "A long one").Text(), "400 days")
}

func TestDirectMessages(t *testing.T) {
	t.Parallel()
	c := open(t)
	alone, direct := c.member.User.In(), c.member.User.Direct()
	where := func() (discordtest.Message, error) {
		asked, err := alone.Slash(direct, "/where", nil)
		require.NoError(t, err)
		return asked.Wait()
	}
	c.coops = []bot.Party{{Key: c.guild.ID, Name: "Weir Lane"}}
	got, err := where()
	require.NoError(t, err)
	require.Equal(t, "Orla in Weir Lane", got.Text())
	choices, err := alone.Complete(direct, "/where", discordtest.Values{"name": "in"}, "name")
	require.NoError(t, err)
	require.Equal(t, "in Weir Lane", choices[0].Name)
	other := c.service.AddGuild("Tor Field Flowers")
	other.Join(c.member.User, 0)
	c.coops = append(c.coops, bot.Party{Key: other.ID, Name: "Tor Field Flowers"})
	asked, err := where()
	require.NoError(t, err)
	require.Contains(t, asked.Text(), "Which one")
	pressed, err := alone.Press(asked, "Which co-op?", "Tor Field Flowers")
	require.NoError(t, err)
	got, err = pressed.Wait()
	require.NoError(t, err)
	require.Equal(t, "Orla in Tor Field Flowers", got.Text())

	other.Remove() // the register may not know yet
	pressed, err = alone.Press(asked, "Which co-op?", "Tor Field Flowers")
	require.NoError(t, err)
	got, err = pressed.Wait()
	require.NoError(t, err)
	require.Contains(t, got.Text(), "not known which co-op")
	c.guild.Remove()
	c.coops = c.coops[:1]
	got, err = where()
	require.NoError(t, err)
	require.Contains(t, got.Text(), "not known which co-op")
	require.Empty(t, c.away(), "nobody left, we were removed")
}

// TestWhoLeft: in a direct message the co-op whose server they left is closed to a person.
func TestWhoLeft(t *testing.T) {
	t.Parallel()
	c := open(t)
	c.coops = []bot.Party{{Key: c.guild.ID, Name: "Weir Lane"}}
	c.member.Leave()
	asked, err := c.member.User.In().Slash(c.member.User.Direct(), "/where", nil)
	require.NoError(t, err)
	got, err := asked.Wait()
	require.NoError(t, err)
	require.Contains(t, got.Text(), "no longer in the server of Weir Lane")
	require.Equal(t, []string{c.member.User.ID}, c.away())
}

// TestWhoLeftIsOfferedNothing: completion tells names too, so it is for those alone who are in the server.
func TestWhoLeftIsOfferedNothing(t *testing.T) {
	t.Parallel()
	c := open(t)
	c.coops = []bot.Party{{Key: c.guild.ID, Name: "Weir Lane"}}
	c.member.Leave()
	choices, err := c.member.User.In().Complete(c.member.User.Direct(), "/where", discordtest.Values{"name": "in"}, "name")
	require.NoError(t, err)
	require.Equal(t, "in", choices[0].Name, "no co-op is told")
}

func TestDeliver(t *testing.T) {
	t.Parallel()
	c := open(t)
	since := time.Now().Add(-time.Second)
	id, err := c.adapter.Deliver(t.Context(), c.channel.ID, c.guild.ID, "notice 2027-03-01", bot.Reply{Title: "This morning", Text: "Frost tonight."})
	require.NoError(t, err)
	got := c.channel.Messages()
	require.Len(t, got, 1)
	require.Empty(t, got[0].Pings)
	found, err := c.conn.Find(t.Context(), c.channel.ID, "notice 2027-03-01", since)
	require.NoError(t, err)
	require.Equal(t, id, found)

	_, err = c.adapter.Deliver(t.Context(), c.channel.ID, c.guild.ID, "b", bot.Reply{Text: "Your stops.", Next: []bot.Next{{Label: "Where", Request: "/where"}}}, c.member.User.ID)
	require.NoError(t, err)
	got = c.channel.Messages()
	require.Equal(t, []string{c.member.User.ID}, got[1].Pings)
	require.Equal(t, "Orla in Weir Lane Growers", c.press(t, got[1], "Where").Text())
}
