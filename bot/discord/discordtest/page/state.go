package page

import (
	"cmp"
	"encoding/json"
	"fmt"
	"hash/fnv"
	"net/http"
	"strconv"
	"time"

	"shortday/bot/discord/discordtest"
)

// stillness is how long a watcher is kept waiting where nothing changes.
const stillness = 25 * time.Second

// state is all that is seen by whoever speaks, where they are.
type state struct {
	Stamp    string   `json:"stamp"` // changes with anything else here but the time
	Time     string   `json:"time"`
	Server   string   `json:"server"`
	As       string   `json:"as"`
	In       string   `json:"in"`
	Requests string   `json:"requests"` // changes with what can be asked
	Linked   bool     `json:"linked"`   // the bot is there
	Members  []person `json:"members"`
	Places   []spot   `json:"places"`
	Roles    []named  `json:"roles"`
	Older    int      `json:"older"` // messages that are not shown any more
	Cards    []card   `json:"cards"`
}

type named struct {
	Key  string `json:"key"`
	Name string `json:"name"`
}

type person struct {
	named
	ID      string `json:"id"`
	Server  string `json:"server"`
	Manages bool   `json:"manages"`
	Direct  int    `json:"direct"` // messages in their direct channel
}

type spot struct {
	named
	Count int `json:"count"` // messages that the speaker sees there
}

type card struct {
	ID    string `json:"id"`
	Stamp string `json:"stamp"`
	HTML  string `json:"html"`
}

// watch answers at once where the page has not what is now, else as soon as something changes.
func (p *Page) watch(w http.ResponseWriter, r *http.Request) {
	select {
	case p.watched <- struct{}{}:
		defer func() { <-p.watched }()
	default:
		http.Error(w, "Too many pages are open. Close some.", http.StatusServiceUnavailable)
		return
	}
	still := time.NewTimer(stillness)
	defer still.Stop()
	for {
		changed := p.service.Changed()
		now, err := p.state(r.FormValue("as"), r.FormValue("in"))
		if err != nil {
			fail(w, err)
			return
		}
		if now.Stamp != r.FormValue("stamp") {
			answer(w, now)
			return
		}
		select {
		case <-changed:
		case <-still.C:
			answer(w, now)
			return
		case <-r.Context().Done():
			return
		}
	}
}

// state gives what a member sees in a place. Without one it is the first member's first channel.
func (p *Page) state(as, in string) (*state, error) {
	if as == "" {
		for _, g := range p.service.Guilds() {
			for _, m := range g.Members() {
				as = cmp.Or(as, keyOf(g, m))
			}
		}
	}
	g, m, err := p.speaker(as)
	if err != nil {
		return nil, err
	}
	s := &state{Server: g.Name, As: as, Linked: p.service.Ready() > 0, Requests: p.version(), Members: p.people(), Places: []spot{}, Roles: []named{}, Cards: []card{}}
	names := naming{}
	for _, other := range g.Members() {
		names["@"+other.User.ID] = other.User.Name
	}
	for _, role := range g.Roles() {
		s.Roles = append(s.Roles, named{role.ID, role.Name})
		names["&"+role.ID] = role.Name
	}
	here := (*discordtest.Channel)(nil)
	for _, c := range g.Channels() {
		_, more := c.Seen(m.User, 0)
		s.Places = append(s.Places, spot{named{c.ID, c.Name}, more})
		names["#"+c.ID] = c.Name
		if here == nil && in == "" || in == c.ID {
			here, s.In = c, c.ID
		}
	}
	if here == nil {
		here, s.In = m.User.Direct(), direct
	}
	messages, older := here.Seen(m.User, mostShown)
	s.Older = older
	for _, message := range messages {
		one, err := p.card(message, view{as: as, names: names, members: g.Members(), places: s.Places, roles: s.Roles})
		if err != nil {
			return nil, err
		}
		s.Cards = append(s.Cards, one)
	}
	whole, err := json.Marshal(s)
	s.Stamp, s.Time = stamp(whole), p.clock.Now().Format("Mon 2 Jan 2006, 15:04")
	return s, err
}

func (p *Page) people() []person {
	var list []person
	for _, g := range p.service.Guilds() {
		for _, m := range g.Members() {
			_, told := m.User.Direct().Seen(m.User, 0)
			list = append(list, person{named{keyOf(g, m), m.User.Name}, m.User.ID, g.Name, m.Manages(), told})
		}
	}
	return list
}

// version changes when the requests are registered anew.
func (p *Page) version() string {
	text := ""
	for _, c := range p.service.Commands() {
		text += c.ID + " "
	}
	return stamp([]byte(text))
}

func stamp(data []byte) string {
	h := fnv.New64a()
	_, _ = h.Write(data) // a hash takes all
	return strconv.FormatUint(h.Sum64(), 36)
}

// answer sends a value as JSON.
func answer[V any](w http.ResponseWriter, v V) {
	data, err := json.Marshal(v)
	if err != nil {
		fail(w, fmt.Errorf("writing an answer: %w", err))
		return
	}
	w.Header().Set("Content-Type", "application/json")
	_, _ = w.Write(data)
}
