package discordtest

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"net"
	"net/http"
	"regexp"
	"strconv"
	"strings"
	"time"
)

// call is one request that has come in whole.
type call struct {
	r     *http.Request
	body  []byte // the JSON part
	files []file
}

type file struct {
	field, name, kind string
	data              []byte
}

// reply is what a request is answered with; a body of nil is none.
type reply struct {
	status int
	body   []byte
}

func encode[V any](v V) []byte {
	b, err := json.Marshal(v)
	if err != nil {
		panic(err) // a wrong program: our own shapes encode
	}
	return b
}

func ok[V any](v V) reply { return reply{http.StatusOK, encode(v)} }

// refuse is an error in the platform's form.
func refuse(status, code int, text string) reply {
	return reply{status, encode(struct {
		Message string `json:"message"`
		Code    int    `json:"code"`
	}{text, code})}
}

// route is one method of one path: how the mux knows it, how the description does, and what limits it.
type route struct {
	pattern, template string
	free              bool // outside the limit of 50 requests a second, and without the bot's token
	answer            func(*call) reply
}

func (s *Service) routes() []route {
	return []route{
		{"GET /gateway", "/gateway", false, s.getGateway},
		{"GET /gateway/bot", "/gateway/bot", false, s.getGatewayBot},
		{"GET /applications/@me", "/applications/@me", false, s.getApplication},
		{"GET /applications/{application}/commands", "/applications/{application_id}/commands", false, s.getCommands},
		{"PUT /applications/{application}/commands", "/applications/{application_id}/commands", false, s.putCommands},
		{"POST /channels/{channel}/messages", "/channels/{channel_id}/messages", false, s.postMessage},
		{"GET /channels/{channel}/messages", "/channels/{channel_id}/messages", false, s.getMessages},
		{"GET /channels/{channel}", "/channels/{channel_id}", false, s.getChannel},
		{"POST /users/@me/channels", "/users/@me/channels", false, s.postDirect},
		{"GET /users/@me", "/users/@me", false, s.getMe},
		{"GET /guilds/{guild}", "/guilds/{guild_id}", false, s.getGuild},
		{"GET /guilds/{guild}/members/{user}", "/guilds/{guild_id}/members/{user_id}", false, s.getMember},
		{"GET /guilds/{guild}/channels", "/guilds/{guild_id}/channels", false, s.getChannels},
		{"GET /guilds/{guild}/roles", "/guilds/{guild_id}/roles", false, s.getRoles},
		{"POST /interactions/{id}/{token}/callback", "/interactions/{interaction_id}/{interaction_token}/callback", true, s.postCallback},
		{"POST /webhooks/{application}/{token}", "/webhooks/{webhook_id}/{webhook_token}", true, s.postFollowUp},
		{"GET /webhooks/{application}/{token}/messages/@original", "/webhooks/{webhook_id}/{webhook_token}/messages/@original", true, s.getOriginal},
		{"PATCH /webhooks/{application}/{token}/messages/{message}", "/webhooks/{webhook_id}/{webhook_token}/messages/@original", true, s.patchAnswer},
		{"DELETE /webhooks/{application}/{token}/messages/{message}", "/webhooks/{webhook_id}/{webhook_token}/messages/@original", true, s.deleteAnswer},
	}
}

var version = regexp.MustCompile(`^(/api)?/v(9|10)/`)

func (s *Service) handler() http.Handler {
	mux := http.NewServeMux()
	for _, rt := range s.routes() {
		mux.HandleFunc(rt.pattern, func(w http.ResponseWriter, r *http.Request) { s.serve(w, r, rt) })
	}
	mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
		s.mu.Lock()
		s.violate("%s %s is not a request this service knows", r.Method, r.URL.Path)
		s.mu.Unlock()
		write(w, refuse(http.StatusNotFound, 0, "404: Not Found"))
	})
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/link/" {
			s.serveLink(w, r)
			return
		}
		if strings.HasPrefix(r.URL.Path, "/files/") {
			s.serveFile(w, r)
			return
		}
		if !version.MatchString(r.URL.Path) {
			write(w, refuse(http.StatusNotFound, 0, "404: Not Found"))
			return
		}
		r.URL.Path = "/" + version.ReplaceAllString(r.URL.Path, "")
		mux.ServeHTTP(w, r)
	})
}

// serve answers one request: faults first, then rights, limits, the body's rules, and the deed itself.
func (s *Service) serve(w http.ResponseWriter, r *http.Request, rt route) {
	c, err := read(r)
	if err != nil {
		write(w, refuse(http.StatusBadRequest, 50109, "The request body contains invalid JSON."))
		return
	}
	fault := s.faultFor(r.Method, r.URL.Path)
	if fault != nil {
		time.Sleep(fault.Delay)
	}
	if fault.strikes() && !fault.After {
		s.note(c, fault.Status)
		fault.strike(w)
		return
	}
	out := s.admit(w, c, rt)
	if out.status == 0 {
		out = rt.answer(c)
	}
	if fault.strikes() {
		s.lose(c)
		s.note(c, fault.Status)
		fault.strike(w)
		return
	}
	s.note(c, out.status)
	write(w, out)
}

// lose remembers that the sender of an answer does not know it was taken, and may send it again.
func (s *Service) lose(c *call) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if i := s.interactions[c.r.PathValue("token")]; i != nil {
		i.lost = true
	}
}

// admit refuses what may not come at all; a status of 0 lets it in.
func (s *Service) admit(w http.ResponseWriter, c *call, rt route) reply {
	s.mu.Lock()
	defer s.mu.Unlock()
	if !rt.free && c.r.Header.Get("Authorization") != "Bot "+Token {
		return refuse(http.StatusUnauthorized, 0, "401: Unauthorized")
	}
	if !strings.HasPrefix(c.r.UserAgent(), "DiscordBot (") {
		s.violate("a user agent of %q", c.r.UserAgent())
	}
	if limited := s.limit(w.Header(), c, rt); limited.status != 0 {
		return limited
	}
	if err := s.opts.Schema.check(c.r.Method, rt.template, c.body); err != nil {
		s.violate("%s %s with %s: %w", c.r.Method, rt.template, c.body, err)
		return refuse(http.StatusBadRequest, 50035, "Invalid Form Body")
	}
	return reply{}
}

// read takes a request apart into its JSON and its files.
func read(r *http.Request) (*call, error) {
	c := &call{r: r}
	kind, params, _ := mime.ParseMediaType(r.Header.Get("Content-Type"))
	if kind != "multipart/form-data" {
		var err error
		c.body, err = io.ReadAll(r.Body)
		if err == nil && len(c.body) > 0 && (kind != "application/json" || !json.Valid(c.body)) {
			err = fmt.Errorf("a body of %q", kind)
		}
		return c, err
	}
	parts := multipart.NewReader(r.Body, params["boundary"])
	for {
		part, err := parts.NextPart()
		if err == io.EOF {
			return c, nil
		}
		if err != nil {
			return nil, err
		}
		data, err := io.ReadAll(part)
		if err != nil {
			return nil, err
		}
		if part.FormName() == "payload_json" {
			c.body = data
			continue
		}
		c.files = append(c.files, file{part.FormName(), part.FileName(), part.Header.Get("Content-Type"), data})
	}
}

func write(w http.ResponseWriter, out reply) {
	if out.body != nil {
		w.Header().Set("Content-Type", "application/json")
	}
	w.WriteHeader(out.status)
	_, _ = w.Write(out.body)
}

func (s *Service) note(c *call, status int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.requests = append(s.requests, Request{c.r.Method, c.r.URL.Path, string(bytes.Clone(c.body)), s.opts.Now(), status})
	s.touch()
}

// strikes tells whether the fault answers in place of the service; a nil fault does not.
func (f *RESTFault) strikes() bool { return f != nil && (f.Reset || f.Status != 0) }

func (f *RESTFault) strike(w http.ResponseWriter) {
	if f.Reset {
		if conn, _, err := http.NewResponseController(w).Hijack(); err == nil {
			if tcp, ok := conn.(*net.TCPConn); ok {
				_ = tcp.SetLinger(0)
			}
			_ = conn.Close()
		}
		return
	}
	if f.Status == http.StatusTooManyRequests {
		tooMany(w.Header(), f.RetryAfter, f.Global, f.Bare)
		write(w, reply{f.Status, tooManyBody(f.RetryAfter, f.Global)})
		return
	}
	if f.Code == 0 {
		write(w, reply{f.Status, []byte("<html>upstream is not well</html>")})
		return
	}
	write(w, refuse(f.Status, f.Code, "refused on purpose"))
}

func seconds(d time.Duration) string { return strconv.FormatFloat(d.Seconds(), 'f', 3, 64) }
