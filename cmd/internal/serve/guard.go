package serve

import (
	"net/http"
	"slices"
	"strings"
)

// headers go with every answer.
var headers = map[string]string{
	"Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src " +
		"'self'; " +
		"form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
	"X-Content-Type-Options":       "nosniff",
	"Referrer-Policy":              "no-referrer",
	"Cross-Origin-Opener-Policy":   "same-origin",
	"Cross-Origin-Resource-Policy": "same-origin",
}

// guard says why a request is refused, "" if it is not.
func (s *Server) guard(r *http.Request) (status int, why string) {
	if !slices.Contains(s.hosts, r.Host) {
		return http.StatusMisdirectedRequest, "this server answers under its own address only, " + strings.Join(s.hosts,
			" or ")
	}
	if origin := r.Header.Get("Origin"); origin != "" && !s.own(origin) {
		return http.StatusForbidden, "requests of other pages are refused"
	}
	// Browsers say where a request comes from and what for. A link from elsewhere that
	// opens the page is welcome; a form is not, nor is a page that takes in this one
	// or its drawings, which would only keep the machine busy.
	site := r.Header.Get("Sec-Fetch-Site")
	elsewhere := site == "cross-site" || site == "same-site"
	other := func(header, usual string) bool { v := r.Header.Get(header); return v != "" && v != usual }
	switch r.Method {
	case http.MethodGet, http.MethodHead:
		if elsewhere && (other("Sec-Fetch-Mode", "navigate") || other("Sec-Fetch-Dest", "document")) {
			return http.StatusForbidden, "other pages may lead here, and take in nothing from here"
		}
	case http.MethodPost:
		if site != "" && site != "same-origin" {
			return http.StatusForbidden, "forms of other pages are refused"
		}
	default:
		return http.StatusMethodNotAllowed, "only reading the page and uploading to it are possible"
	}
	if len(r.URL.RawQuery) > mostQuery {
		return http.StatusRequestURITooLong, "the address is longer than any state of the page"
	}
	return 0, ""
}

// own says whether an origin is the server's.
func (s *Server) own(origin string) bool {
	host, ok := strings.CutPrefix(origin, "http://")
	return ok && slices.Contains(s.hosts, host)
}
