package page

import (
	"mime"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"shortday/bot/discord/discordtest"
)

// pictures are the kinds that a browser shows and that can do nothing. A drawing in SVG is not among them: it can hold scripts.
func picture(kind string) bool {
	return slices.Contains([]string{"image/png", "image/jpeg", "image/gif", "image/webp"}, kind)
}

func idOf(a discordtest.Attachment) string { return strings.Trim(string(a.ID), `"`) }

// file gives a file of a message from memory, to whoever sees the message: pictures to be shown, all else to be kept.
func (p *Page) file(w http.ResponseWriter, r *http.Request) {
	_, m, err := p.speaker(r.FormValue("as"))
	if err != nil {
		fail(w, err)
		return
	}
	message, found := p.service.Message(r.PathValue("message"), m.User)
	at := slices.IndexFunc(message.Attachments, func(a discordtest.Attachment) bool { return idOf(a) == r.PathValue("file") })
	if !found || at < 0 {
		http.Error(w, "There is no such file for "+m.User.Name+".", http.StatusNotFound)
		return
	}
	a := message.Attachments[at]
	h := w.Header()
	h.Set("Content-Security-Policy", "default-src 'none'; sandbox")
	h.Set("Content-Length", strconv.Itoa(len(a.Data)))
	h.Set("Content-Type", a.ContentType)
	if !picture(a.ContentType) || r.FormValue("keep") != "" {
		h.Set("Content-Type", "application/octet-stream")
		h.Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": a.Filename}))
	}
	_, _ = w.Write(a.Data)
}
