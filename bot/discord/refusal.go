package discord

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"time"

	"github.com/bwmarrin/discordgo"
)

// What a refusal can mean to whoever sent the request; errors.Is tells.
var (
	ErrClosed  = errors.New("this person takes no direct messages")      // 50007
	ErrLacking = errors.New("a right is missing in that channel")        // 50001, 50013
	ErrGone    = errors.New("that channel, server or person is gone")    // 10003, 10004, 10007, 10013
	ErrRemoved = errors.New("we are not in that server")                 // 10004, 50001, of one who is asked for there
	ErrLate    = errors.New("the question was no longer open")           // 10062, 50027
	ErrDoubled = errors.New("the question had been answered already")    // 40060
	ErrWait    = errors.New("the limit asks to wait longer than we can") // 429
)

// meanings are the platform's error numbers that matter.
func meaning(code int) error {
	switch code {
	case discordgo.ErrCodeCannotSendMessagesToThisUser:
		return ErrClosed
	case discordgo.ErrCodeMissingAccess, discordgo.ErrCodeMissingPermissions:
		return ErrLacking
	case discordgo.ErrCodeUnknownChannel, discordgo.ErrCodeUnknownGuild, discordgo.ErrCodeUnknownMember, discordgo.ErrCodeUnknownUser:
		return ErrGone
	case discordgo.ErrCodeUnknownInteraction, discordgo.ErrCodeInvalidWebhookTokenProvided:
		return ErrLate
	case discordgo.ErrCodeInteractionHasAlreadyBeenAcknowledged:
		return ErrDoubled
	}
	return nil
}

// Refusal is a request that Discord did not fulfil. It holds nothing of the request, which carries the token.
type Refusal struct {
	Status int // of HTTP
	Code   int // Discord's own number, 0 where it gave none
	Text   string
	After  time.Duration // how long to wait, of a 429
}

func (r *Refusal) Error() string {
	return fmt.Sprintf("Discord refused (HTTP %d, code %d): %s", r.Status, r.Code, r.Text)
}

// Is lets errors.Is find what the refusal means.
func (r *Refusal) Is(target error) bool {
	if r.Status == http.StatusTooManyRequests {
		return target == ErrWait
	}
	return target == meaning(r.Code)
}

// Final is an end that trying again cannot cure: the sentence says what to do.
type Final struct {
	Code int // the gateway's close code, or 401
	Text string
}

func (f *Final) Error() string { return f.Text }

// final gives the sentence for a close code after which connecting again is of no use, nil for the others.
func final(code int) *Final {
	texts := map[int]string{
		http.StatusUnauthorized: "Discord does not know the token. Copy it again from the application's Bot page and set SHORTDAY_TOKEN.",
		4004:                    "Discord does not know the token. Copy it again from the application's Bot page and set SHORTDAY_TOKEN.",
		4010:                    "Discord refused the number of this connection. Leave SHORTDAY_SHARDS unset, or raise it.",
		4011:                    "The application is in too many servers for so few connections. Leave SHORTDAY_SHARDS unset, or raise it.",
		4012:                    "Discord no longer takes this version of its protocol. Install a newer Shortday.",
		4013:                    "Discord does not know what this program asks to be told. Install a newer Shortday.",
		4014:                    "Discord does not let this application be told what it asks for. Check the intents on the application's Bot page.",
	}
	if text, found := texts[code]; found {
		return &Final{Code: code, Text: text}
	}
	return nil
}

// clean turns an error of the library into one of ours, without the request and its address: the header holds the
// bot's token, the address an interaction's.
func clean(err error) error {
	if err == nil {
		return nil
	}
	if rest, ok := errors.AsType[*discordgo.RESTError](err); ok {
		r := &Refusal{Status: rest.Response.StatusCode, Text: http.StatusText(rest.Response.StatusCode)}
		if rest.Message != nil {
			r.Code, r.Text = rest.Message.Code, rest.Message.Message
		}
		return r
	}
	if limited, ok := errors.AsType[*discordgo.RateLimitError](err); ok {
		return &Refusal{Status: http.StatusTooManyRequests, Text: limited.Message, After: limited.RetryAfter}
	}
	if address, ok := errors.AsType[*url.Error](err); ok {
		return fmt.Errorf("reaching Discord: %w", address.Err)
	}
	return err
}
