package page

import (
	"errors"
	"io"
	"maps"
	"mime/multipart"
	"net/http"
	"slices"
	"strings"
	"time"
	"unicode"

	"shortday/bot/discord/discordtest"
	"shortday/knowledge/fault"
)

// outcome is what the page is told of a deed. What was answered comes with the state.
type outcome struct {
	Note    string   `json:"note,omitempty"` // for whoever speaks, in a sentence
	Form    *form    `json:"form,omitempty"` // to be filled in
	Choices []choice `json:"choices,omitempty"`
	Key     string   `json:"key,omitempty"` // of a new member
}

type choice struct {
	Name  string `json:"name"`
	Value string `json:"value"`
}

// deed makes a handler of a deed: bounded in number and size, every error a sentence.
func (p *Page) deed(do func(r *http.Request) (outcome, error)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		select {
		case p.asked <- struct{}{}:
			defer func() { <-p.asked }()
		default:
			fail(w, fault.New(fault.Later, "Too much is being answered already. Ask again when some of it has come."))
			return
		}
		r.Body = http.MaxBytesReader(w, r.Body, mostSent)
		if err := r.ParseMultipartForm(mostSent); err != nil {
			fail(w, fault.New(fault.Unclear, "That could not be read: at most 32 MiB can be sent at once. Send less.").Because(err))
			return
		}
		out, err := do(r)
		if err != nil {
			fail(w, err)
			return
		}
		answer(w, out)
	}
}

// fail tells why nothing was done.
func fail(w http.ResponseWriter, err error) {
	status := http.StatusUnprocessableEntity
	text := err.Error()
	if refusal, ok := errors.AsType[*fault.Error](err); ok {
		text = refusal.Text
		if refusal.Kind == fault.Later {
			status = http.StatusServiceUnavailable
		}
	}
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	answer(w, outcome{Note: text})
}

// held is what Discord's own client would not have let through.
func held(err error) error {
	return fault.New(fault.Unclear, "Discord would not send this: %v.", err).Because(err)
}

// ask sends a command with its fields and files.
func (p *Page) ask(r *http.Request) (outcome, error) {
	m, in, err := p.place(r)
	if err != nil {
		return outcome{}, err
	}
	values := typed(r)
	files, err := p.upload(r, values)
	defer func() {
		for _, id := range files {
			p.service.Forget(id)
		}
	}()
	if err != nil {
		return outcome{}, err
	}
	asked, err := m.Slash(in, r.FormValue("request"), values)
	if err != nil {
		return outcome{}, held(err)
	}
	return p.follow(r.FormValue("as"), m, asked)
}

// typed gives the fields of a request; an empty one is not sent.
func typed(r *http.Request) discordtest.Values {
	values := discordtest.Values{}
	for name, list := range r.PostForm {
		if field, ok := strings.CutPrefix(name, "f."); ok && list[0] != "" {
			values[field] = lines(list[0])
		}
	}
	return values
}

// lines gives text with the line ends of Discord; a browser sends its own.
func lines(text string) string { return strings.ReplaceAll(text, "\r\n", "\n") }

// upload hands the files of a request over, and puts what names them into its fields.
func (p *Page) upload(r *http.Request, values discordtest.Values) (ids []string, err error) {
	for _, name := range slices.Sorted(maps.Keys(r.MultipartForm.File)) {
		field, ok := strings.CutPrefix(name, "f.")
		sent := r.MultipartForm.File[name][0]
		if !ok || sent.Filename == "" {
			continue
		}
		if sent.Size > mostFile {
			return ids, fault.New(fault.Unclear, "%s is larger than the 10 MiB that Discord takes. Send a smaller file.", sent.Filename)
		}
		data, err := content(sent)
		if err != nil {
			return ids, err
		}
		id := p.service.Upload(sent.Filename, sent.Header.Get("Content-Type"), data)
		ids, values[field] = append(ids, id), id
	}
	return ids, nil
}

func content(sent *multipart.FileHeader) (data []byte, err error) {
	f, err := sent.Open()
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	return io.ReadAll(f)
}

// press uses a button or a menu.
func (p *Page) press(r *http.Request) (outcome, error) {
	m, _, err := p.place(r)
	if err != nil {
		return outcome{}, err
	}
	asked, err := m.Use(r.FormValue("message"), r.FormValue("control"), r.PostForm["pick"]...)
	if err != nil {
		return outcome{}, held(err)
	}
	return p.follow(r.FormValue("as"), m, asked)
}

// follow waits for what comes of something asked: a form is given, a message shows in the state.
func (p *Page) follow(as string, m *discordtest.Member, asked *discordtest.Interaction) (outcome, error) {
	opened, err := asked.First()
	if err != nil {
		return outcome{Note: "No answer came within three seconds. On Discord that is said to have failed; ask again."}, nil
	}
	if opened != nil {
		return outcome{Form: p.keep(as, m, *opened)}, nil
	}
	if _, err := asked.Wait(); errors.Is(err, discordtest.ErrTimeout) {
		return outcome{Note: "The answer takes long. It will show here when it comes."}, nil
	}
	return outcome{}, nil
}

// complete offers what a field may become.
func (p *Page) complete(r *http.Request) (outcome, error) {
	m, in, err := p.place(r)
	if err != nil {
		return outcome{}, err
	}
	values, focus := typed(r), r.FormValue("focus")
	values[focus] = r.FormValue("f." + focus)
	choices, err := m.Complete(in, r.FormValue("request"), values, focus)
	if err != nil {
		return outcome{}, held(err)
	}
	out := outcome{Choices: []choice{}}
	for _, c := range choices {
		out.Choices = append(out.Choices, choice{c.Name, c.Text()})
	}
	return out, nil
}

// member puts somebody new into the speaker's server.
func (p *Page) member(r *http.Request) (outcome, error) {
	g, _, err := p.speaker(r.FormValue("as"))
	if err != nil {
		return outcome{}, err
	}
	name := strings.Join(strings.Fields(r.FormValue("name")), " ")
	bad := strings.ContainsFunc(name, func(c rune) bool { return !unicode.IsPrint(c) })
	if n := len([]rune(name)); n < 1 || n > 32 || bad {
		return outcome{}, fault.New(fault.Unclear, "A member's name has 1 to 32 letters. Give one.")
	}
	members := g.Members()
	if slices.ContainsFunc(members, func(m *discordtest.Member) bool { return strings.EqualFold(m.User.Name, name) }) {
		return outcome{}, fault.New(fault.Taken, "%s is here already. Give another name.", name)
	}
	if len(members) >= mostPeople {
		return outcome{}, fault.New(fault.Taken, "A rehearsal has room for %d members. Speak as one who is here.", mostPeople)
	}
	return outcome{Key: keyOf(g, g.AddMember(name, 0))}, nil
}

// spans are how far the clock can be put forward at once.
var spans = map[string]time.Duration{"hour": time.Hour, "day": 24 * time.Hour, "week": 7 * 24 * time.Hour}

// pass lets time pass: what falls due in it comes at once.
func (p *Page) pass(r *http.Request) (outcome, error) {
	span, known := spans[r.FormValue("span")]
	if !known {
		return outcome{}, fault.New(fault.Unclear, "That is no span of time. Press one of the buttons for it.")
	}
	p.clock.Pass(span)
	return outcome{}, nil
}

// right gives a member the right to manage the server, or takes it.
func (p *Page) right(r *http.Request) (outcome, error) {
	_, m, err := p.speaker(r.FormValue("as"))
	if err != nil {
		return outcome{}, err
	}
	var rights discordtest.Right
	if r.FormValue("manages") == "yes" {
		rights = discordtest.ManageServer
	}
	m.Allow(rights)
	return outcome{}, nil
}
