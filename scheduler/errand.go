package scheduler

import (
	"crypto/sha256"
	"encoding/base32"
	"strconv"
	"strings"
	"time"

	"shortday/knowledge/calendar"
	"shortday/knowledge/register"
)

// errand is one notice on its way: what it is of, and when it fell due. Its words are found when it is told.
type errand struct {
	Key    string          `json:"key" river:"unique"`
	About  Kind            `json:"about"`
	Coop   int64           `json:"coop"`
	Member int64           `json:"member,omitempty"` // 0: the group
	Day    calendar.Day    `json:"day"`
	Due    time.Time       `json:"due"`
	Tiding register.Tiding `json:"tiding,omitzero"`
	Failed *failed         `json:"failed,omitempty"`
}

// Undelivered tells a steward of a notice that could not be told.
const Undelivered Kind = "undelivered"

// failed is what the stewards are told of a notice that could not be told.
type failed struct {
	About  Kind         `json:"about"`
	Member int64        `json:"member,omitempty"`
	Day    calendar.Day `json:"day"`
	Why    string       `json:"why"`
}

// Kind names errands among River's jobs; it is stored and never changes.
func (errand) Kind() string { return "notice" }

// daily reports whether the next one of its kind to the same addressee says what this one would have said.
func (e errand) daily() bool { return e.About == Daily || e.About == Morning || e.About == Evening }

// fellDue gives the day that it was in a zone when a tiding was written: its deed may have been of the day before there.
func (e errand) fellDue(zone *time.Location) calendar.Day {
	if e.About != Told {
		return e.Day
	}
	return calendar.DayAt(e.Due.In(zone))
}

// told gives what is kept of the errand in the register.
func (e errand) told() register.Telling {
	return register.Telling{Key: e.Key, Coop: e.Coop, Member: e.Member, Kind: string(e.About), Day: e.Day}
}

// keyOf gives the key of a notice from what sets it apart: the same again after a restart or a restore, and another one
// for anything else. 25 characters.
func keyOf(parts ...string) string {
	sum := sha256.Sum256([]byte(strings.Join(parts, "\x00")))
	return strings.ToLower(base32.StdEncoding.EncodeToString(sum[:]))[:25]
}

// ofStroke gives the errand of a stroke of a day.
func ofStroke(s register.Stroke, owed Owed) errand {
	return errand{Key: keyOf(string(s.Kind), s.CoopKey, s.MemberKey, owed.Day.String()),
		About: Kind(s.Kind), Coop: s.Coop, Member: s.Member, Day: owed.Day, Due: owed.At}
}

// ofTiding gives the errand of a tiding. Its instant is in the key since a register that was restored gives out the
// same numbers again.
func ofTiding(t register.Tiding) errand {
	return errand{Key: keyOf(string(Told), id(t.Coop), id(t.Member), id(t.ID), string(t.Kind), id(t.Subject), id(t.At.Unix())),
		About: Told, Coop: t.Coop, Member: t.Member, Day: t.On, Due: t.At, Tiding: t}
}

// ofFailure gives the errand that tells a steward of another one.
func ofFailure(e errand, steward int64, why string, at time.Time) errand {
	return errand{Key: keyOf(string(Undelivered), e.Key, id(steward)), About: Undelivered, Coop: e.Coop, Member: steward,
		Day: e.Day, Due: at, Failed: &failed{e.About, e.Member, e.Day, why}}
}

func id(n int64) string { return strconv.FormatInt(n, 10) }
