package page

import (
	"fmt"
	"net/http"

	"shortday/bot/discord/discordtest"
	"shortday/knowledge/fault"
)

// form is a form as the page opens it.
type form struct {
	ID     string  `json:"id"`
	Title  string  `json:"title"`
	Inputs []input `json:"inputs"`
}

type input struct {
	Label    string `json:"label"`
	Hint     string `json:"hint"`
	Value    string `json:"value"`
	Long     bool   `json:"long"`
	Required bool   `json:"required"`
	Least    int    `json:"least"`
	Most     int    `json:"most"`
}

// opened is a form, and whose it is.
type opened struct {
	as   string
	by   *discordtest.Member
	form discordtest.Form
}

// keep remembers an open form until it is sent. Past so many the oldest can no longer be sent.
func (p *Page) keep(as string, by *discordtest.Member, f discordtest.Form) *form {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.count++
	out := &form{ID: fmt.Sprint(p.count), Title: f.Title}
	p.forms[out.ID] = opened{as, by, f}
	if p.order = append(p.order, out.ID); len(p.order) > mostForms {
		delete(p.forms, p.order[0])
		p.order = p.order[1:]
	}
	for _, c := range f.Inputs {
		out.Inputs = append(out.Inputs, input{c.Label, c.Placeholder, c.Value, c.Long(), c.Needed(), c.MinLength, c.MaxLength})
	}
	return out
}

// submit sends a form that is filled in. One that Discord's client would hold back stays open.
func (p *Page) submit(r *http.Request) (outcome, error) {
	as, id := r.FormValue("as"), r.FormValue("form")
	p.mu.Lock()
	o, found := p.forms[id]
	p.mu.Unlock()
	if !found || o.as != as {
		return outcome{}, fault.New(fault.Missing, "That form was sent already, or is too old. Ask again for a new one.")
	}
	values := discordtest.Values{}
	for _, in := range o.form.Inputs {
		values[in.Label] = lines(r.FormValue("f." + in.Label))
	}
	asked, err := o.by.Submit(o.form, values)
	if err != nil {
		return outcome{}, held(err)
	}
	p.mu.Lock()
	delete(p.forms, id)
	p.mu.Unlock()
	return p.follow(as, o.by, asked)
}
