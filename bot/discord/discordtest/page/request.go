package page

import "net/http"

// request is something that can be asked, as the page offers it.
type request struct {
	Path   string `json:"path"`
	Help   string `json:"help"`
	Fields []asks `json:"fields"`
}

// asks is a field of a request.
type asks struct {
	Name      string   `json:"name"`
	Help      string   `json:"help"`
	Kind      string   `json:"kind"`
	Required  bool     `json:"required"`
	Completes bool     `json:"completes"`
	Choices   []choice `json:"choices"`
	Min       *float64 `json:"min"`
	Max       *float64 `json:"max"`
	Longest   *int     `json:"longest"`
}

// requests lists what can be asked.
func (p *Page) requests(w http.ResponseWriter, _ *http.Request) {
	list := []request{}
	for _, c := range p.service.Callables() {
		one := request{Path: c.Path, Help: c.Help, Fields: []asks{}}
		for _, f := range c.Fields {
			a := asks{f.Name, f.Description, f.Kind(), f.Required, f.Autocomplete, []choice{}, f.MinValue, f.MaxValue, f.MaxLength}
			for _, ch := range f.Choices {
				a.Choices = append(a.Choices, choice{ch.Name, ch.Text()})
			}
			one.Fields = append(one.Fields, a)
		}
		list = append(list, one)
	}
	answer(w, list)
}
