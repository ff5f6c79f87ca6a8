// Command bare is the least that answers a command in Discord: BenchmarkServe measures the program beside it.
package main

import (
	"fmt"
	"net/http"
	"net/url"
	"os"
	"os/signal"

	"github.com/bwmarrin/discordgo"
)

// elsewhere sends what the library asks to a test service.
type elsewhere struct{ base *url.URL }

func (e elsewhere) RoundTrip(r *http.Request) (*http.Response, error) {
	r = r.Clone(r.Context())
	r.URL.Scheme, r.URL.Host, r.Host = e.base.Scheme, e.base.Host, ""
	return http.DefaultTransport.RoundTrip(r)
}

func main() {
	if err := run(); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func run() error {
	base, err := url.Parse(os.Getenv("SHORTDAY_DISCORD_URL"))
	if err != nil {
		return err
	}
	s, err := discordgo.New("Bot " + os.Getenv("SHORTDAY_TOKEN"))
	if err != nil {
		return err
	}
	s.Client = &http.Client{Transport: elsewhere{base}}
	s.Identify.Intents = discordgo.IntentsGuilds
	s.Identify.Compress, s.Compress = false, false // the stand-in does not compress
	s.AddHandler(func(s *discordgo.Session, i *discordgo.InteractionCreate) {
		_ = s.InteractionRespond(i.Interaction, &discordgo.InteractionResponse{
			Type: discordgo.InteractionResponseChannelMessageWithSource,
			Data: &discordgo.InteractionResponseData{Content: "Nothing is due.", AllowedMentions: &discordgo.MessageAllowedMentions{Parse: []discordgo.AllowedMentionType{}}},
		})
	})
	if err := s.Open(); err != nil {
		return err
	}
	over := make(chan os.Signal, 1)
	signal.Notify(over, os.Interrupt)
	<-over
	return s.Close()
}
