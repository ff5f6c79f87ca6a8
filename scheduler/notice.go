package scheduler

import (
	"context"
	"errors"

	"shortday/knowledge/calendar"
	"shortday/knowledge/register"
)

// Notice is one thing to be told to a co-op's group or to one member. How it is shown is the platform's.
type Notice struct {
	Key      string // up to 25 characters, the same for the same notice always: a platform refuses a second copy by it
	Coop     Party
	Member   Party  // the zero Party: the group
	Place    string // where the co-op's notices go, as its platform names it; empty for a member's own
	Kind     string
	Day      calendar.Day // the local day it is of
	Title    string
	Text     string // paragraphs parted by an empty line; no markup
	Next     []Offer
	Instants []calendar.Instant // those that the text names, each by its String
	Calls    []Party            // the members called to a group's notice, because they asked to be
	Said     []register.Word    // what it tells of jobs: kept with its receipt, so that it is told once
	Again    bool               // it may have been told before, and the platform cannot say
}

// Party is a co-op or a member: Key is the platform's own lasting name for it, Name what people read.
type Party struct {
	Key, Name string
}

// Offer is a prepared request that goes with a notice, as text that the desk reads.
type Offer struct {
	Label, Request string
}

// Receipt is a platform's own lasting name for what it delivered.
type Receipt string

// Platform is where notices go. Find tells whether a notice is there already; it is nil where a platform cannot know.
type Platform struct {
	Deliver func(ctx context.Context, n Notice) (Receipt, error)
	Find    func(ctx context.Context, n Notice) (Receipt, bool, error)
}

// ErrUnknowable is what Find gives where the platform cannot tell about this one notice: it then goes again, and says so.
var ErrUnknowable = errors.New("the platform cannot tell whether the notice is there")

// Unreachable is why a notice can never be told where no one but its addressee could mend that. It is at its end then,
// nobody else is told of it, and a member's reminders pause.
type Unreachable string

func (u Unreachable) Error() string { return string(u) }
