package serve

import (
	"net/http"
	"slices"
	"strings"
)

// headers go with every answer.
var headers = map[string]string{
	"Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; " +
		"form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
	"X-Content-Type-Options":       "nosniff",
	"Referrer-Policy":              "no-referrer",
	"Cross-Origin-Opener-Policy":   "same-origin",
	"Cross-Origin-Resource-Policy": "same-origin",
}

// guard says why a request is refused, "" if it is not.
func (s *Server) guard(r *http.Request) (status int, why string) {
	if !slices.Contains(s.hosts, r.Host) {
		return http.StatusMisdirectedRequest, "this server answers under its own address only, " + strings.Join(s.hosts, " or ")
	}
	if origin := r.Header.Get("Origin"); origin != "" && !s.own(origin) {
		return http.StatusForbidden, "requests of other pages are refused"
	}
	switch r.Method {
	case http.MethodGet, http.MethodHead:
	case http.MethodPost:
		// Browsers say where a form comes from; a link from elsewhere is welcome,
		// a form is not.
		if site := r.Header.Get("Sec-Fetch-Site"); site != "" && site != "same-origin" {
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
