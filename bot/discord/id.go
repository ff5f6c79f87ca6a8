package discord

import (
	"context"
	"crypto/rand"
	"strings"

	"shortday/bot"
)

// Kept is what a button stands for when that does not fit on it.
type Kept struct {
	Request string // with the sign of what pressing it does
	Coop    string // the co-op's key; "" where it is asked for
	Who     string // the one person who may press it; "" for all
}

// Requests keeps what does not fit on buttons. A key is kept for 400 days.
type Requests struct {
	Keep func(ctx context.Context, k Kept) (key string, err error)
	Kept func(ctx context.Context, key string) (k Kept, found bool, err error)
}

// The signs a custom_id begins with: what a button or menu does with the request after it.
const (
	askSign    = ""  // asks it, or opens the form for what is missing; a request begins with a slash
	changeSign = "?" // opens the form with all that is filled in
	pickSign   = "&" // a menu of members or channels: adds the field named after it
	coopSign   = "%" // asks it for the co-op in the key
	formSign   = "!" // a form: adds what was filled in
	keptSign   = "=" // stands for a kept one
	menuSign   = "*" // a menu of requests: the values are the ids
)

// longestID is what a custom_id takes, less the mark that a post's button carries.
const longestID = 100 - markSize - len(markedBy)

// name makes the custom_id of a request; what is too long, or for one co-op, is kept under a short key.
func (a *Adapter) name(ctx context.Context, sign string, k Kept) (string, error) {
	if id := sign + k.Request; length(id) <= longestID && sign != coopSign {
		return id, nil
	}
	k.Request = sign + k.Request
	key, err := a.requests.Keep(ctx, k)
	return keptSign + key, err
}

// meant gives what a custom_id stands for. Where it is found no more, or is another's, the reply says so.
func (a *Adapter) meant(ctx context.Context, id string, ask bot.Ask) (Kept, string) {
	id, _, _ = strings.Cut(id, markedBy)
	key, kept := strings.CutPrefix(id, keptSign)
	if !kept {
		return Kept{Request: id}, ""
	}
	k, found, err := a.requests.Kept(ctx, key)
	switch {
	case err != nil:
		a.wrong(ctx, "looking up what a button stands for", err)
		return Kept{}, "Something failed on our side, not yours. Please press it again in a minute."
	case !found:
		return Kept{}, "This button is more than 400 days old. Type / and choose the request from the list."
	case k.Who != "" && k.Who != ask.Who.Key:
		return Kept{}, "This button is somebody else's. Type / and choose the request from the list."
	case k.Coop != "" && ask.Coop.Key != "" && k.Coop != ask.Coop.Key:
		return Kept{}, "This button belongs to another co-op. Type / and choose the request from the list."
	}
	return k, ""
}

// NewKey makes a key for a Kept that nobody can guess.
func NewKey() string { return rand.Text()[:20] }
