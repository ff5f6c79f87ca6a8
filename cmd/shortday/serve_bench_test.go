package main

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/bot/discord/discordtest"
	"shortday/knowledge/crop"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

var long = flag.Bool("long", false, "run the benchmark that takes minutes")

// Neighbours of the members who ask: each with a copy of the batches of the first one, by which there are 100,000.
var neighbours = []string{
	`INSERT INTO member (coop, key, name, folded, joined)
	 WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 5000) SELECT 1, 'n' || i, 'Neighbour ' || i, 'neighbour ' || i, 0 FROM n`,
	`INSERT INTO batch (coop, mark, variety, member, stage, since, count, made)
	 SELECT 1, '90-' || (m.id * 100 + b.id), b.variety, m.id, b.stage, b.since, b.count, b.made FROM member m, batch b WHERE m.id > 1 AND b.member = 1`,
}

// crowd is a server with members who ask, and the register of its co-op with 100,000 batches.
type crowd struct {
	service *discordtest.Service
	channel *discordtest.Channel
	askers  []*discordtest.Member
	env     []string
}

func gather(b *testing.B) *crowd {
	b.Helper()
	service, err := discordtest.Start(discordtest.Options{Now: time.Now})
	require.NoError(b, err)
	b.Cleanup(service.Close)
	guild := service.AddGuild("Tallow Lane Growers")
	c := &crowd{service: service, channel: guild.AddChannel("talk")}
	path := filepath.Join(b.TempDir(), "shortday.db")
	c.env = append(os.Environ(), "SHORTDAY_TOKEN="+discordtest.Token, "SHORTDAY_DISCORD_URL="+service.URL(), "SHORTDAY_DB="+path)
	reg, err := register.Open(b.Context(), path)
	require.NoError(b, err)
	for n := range 20 {
		m := guild.AddMember(fmt.Sprint("Grower ", n), 0)
		c.askers = append(c.askers, m)
		_, err := reg.Enter(b.Context(), register.Entry{CoopKey: guild.ID, CoopName: guild.Name, Key: m.User.ID, Name: m.User.Name, Governed: true, At: time.Now()})
		require.NoError(b, err)
	}
	for n := range 20 {
		by := register.Actor{Member: 1, At: time.Now()}
		v, err := reg.AddVariety(b.Context(), by, variety.Variety{Name: fmt.Sprint("Trial ", n), Season: variety.Late, Response: 10})
		require.NoError(b, err)
		_, err = reg.Add(b.Context(), by, register.Stock{Variety: v.ID, Stage: crop.Boxed, Count: 12})
		require.NoError(b, err)
	}
	for _, query := range neighbours {
		_, err := reg.DB().ExecContext(b.Context(), query)
		require.NoError(b, err)
	}
	require.NoError(b, reg.Close())
	return c
}

// build builds a program of this module.
func build(b *testing.B, dir string) string {
	b.Helper()
	path := filepath.Join(b.TempDir(), "program")
	out, err := exec.CommandContext(b.Context(), "go", "build", "-o", path, dir).CombinedOutput()
	require.NoError(b, err, string(out))
	return path
}

// begin starts a program on the crowd's server and waits until it is linked.
func (c *crowd) begin(b *testing.B, program string, args ...string) *exec.Cmd {
	b.Helper()
	ctx, cancel := context.WithCancel(b.Context())
	cmd := exec.CommandContext(ctx, program, args...)
	var out bytes.Buffer
	cmd.Env, cmd.Stdout, cmd.Stderr = c.env, &out, &out
	require.NoError(b, cmd.Start())
	b.Cleanup(func() {
		cancel()
		_ = cmd.Wait()
	})
	require.NoError(b, c.service.AwaitReady(1, within), &out)
	require.NoError(b, c.service.AwaitCommands(within))
	return cmd
}

// ask asks so many times at a pace and gives how long the answers took, sorted.
func (c *crowd) ask(b *testing.B, pace, times int) []time.Duration {
	b.Helper()
	var took []time.Duration
	for _, i := range c.flood(b, pace, times) {
		require.Eventually(b, func() bool { return i.Took() > 0 }, 3*time.Second, time.Millisecond, "unanswered")
		took = append(took, i.Took())
	}
	slices.Sort(took)
	return took
}

// flood asks so many times at a pace and waits for nothing.
func (c *crowd) flood(b *testing.B, pace, times int) (asked []*discordtest.Interaction) {
	b.Helper()
	tick := time.NewTicker(time.Second / time.Duration(pace))
	defer tick.Stop()
	for n := range times {
		i, err := c.askers[n%len(c.askers)].Slash(c.channel, []string{"/job due", "/stock list"}[n%2], nil)
		require.NoError(b, err)
		asked = append(asked, i)
		<-tick.C
	}
	return asked
}

var resident = regexp.MustCompile(`VmRSS:\s+(\d+) kB`)

// memory gives what a process holds in memory, in MB.
func memory(b *testing.B, cmd *exec.Cmd) float64 {
	b.Helper()
	status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", cmd.Process.Pid))
	if err != nil {
		b.Skip("what a process holds in memory is read from /proc")
	}
	kilobytes, err := strconv.ParseFloat(string(resident.FindSubmatch(status)[1]), 64)
	require.NoError(b, err)
	return kilobytes / 1024
}

// BenchmarkServe measures answers beside those of a bare program that answers a fixed text, over one stand-in each.
func BenchmarkServe(b *testing.B) {
	ours, bare := gather(b), gather(b)
	program := build(b, ".")
	us := ours.begin(b, program, "serve")
	first := bare.begin(b, program, "serve") // registers the commands
	require.NoError(b, first.Process.Signal(os.Interrupt))
	_ = first.Wait()
	time.Sleep(6 * time.Second) // IDENTIFYs stay five seconds apart
	them := bare.begin(b, build(b, "./testdata/bare"))
	for _, pace := range []int{50, 200} {
		b.Run(fmt.Sprint(pace, " a second"), func(b *testing.B) {
			for b.Loop() {
				base, took := bare.ask(b, pace, 10*pace), ours.ask(b, pace, 10*pace)
				report(b, "bare", base, memory(b, them))
				report(b, "ours", took, memory(b, us))
			}
		})
	}
	if !*long {
		return
	}
	b.Run("flat", func(b *testing.B) {
		for b.Loop() {
			ours.flood(b, 400, 10_000)
			early := memory(b, us)
			ours.flood(b, 400, 90_000)
			time.Sleep(10 * time.Second)
			b.ReportMetric(early, "MB-after-10000")
			b.ReportMetric(memory(b, us), "MB-after-100000")
		}
	})
}

func report(b *testing.B, who string, took []time.Duration, megabytes float64) {
	b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, who+"-p50-ms")
	b.ReportMetric(float64(took[len(took)*99/100].Microseconds())/1000, who+"-p99-ms")
	b.ReportMetric(megabytes, who+"-MB")
}
