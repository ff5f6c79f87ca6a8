package discord_test

import (
	"context"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/bot"
	"shortday/bot/discord"
	"shortday/bot/discord/discordtest"
)

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
	more    []bot.Family // beside the shed
	stop    func()       // ends the adapter, and waits for that

	mu   sync.Mutex
	left []string // people of whom it was kept that they left
}

func (c *counter) away() []string {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.left
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
	desk := bot.NewDesk(append(shed(), c.more...), standing, nil)
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
