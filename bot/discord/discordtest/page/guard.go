package page

import (
	"net"
	"net/http"
	"slices"
)

// policy lets the page load nothing that is not its own, and be shown in no frame.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// hosts gives the names under which a browser of this machine may reach an address.
func hosts(at net.Addr) []string {
	names := []string{at.String()}
	if _, port, err := net.SplitHostPort(at.String()); err == nil {
		names = append(names, net.JoinHostPort("localhost", port))
	}
	return names
}

// guard turns away what other sites bring a browser to send: a name of theirs that leads here, and posts from their pages.
func guard(hosts []string, next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		if !slices.Contains(hosts, r.Host) {
			http.Error(w, "This page is reached at http://"+hosts[0]+"/ alone.", http.StatusMisdirectedRequest)
			return
		}
		if foreign(r) {
			http.Error(w, "Only the page itself may ask for this. Open http://"+hosts[0]+"/ in a browser.", http.StatusForbidden)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// foreign tells whether another site's page sent a request. A post has to say that it comes from our own.
func foreign(r *http.Request) bool {
	origin, site := r.Header.Get("Origin"), r.Header.Get("Sec-Fetch-Site")
	if r.Method != http.MethodGet && r.Method != http.MethodHead || origin != "" {
		return origin != "http://"+r.Host || site != "" && site != "same-origin"
	}
	if r.URL.Path == "/" {
		return false // a link to the page is no harm
	}
	return site != "" && site != "same-origin" && site != "none"
}
