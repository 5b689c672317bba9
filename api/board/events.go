package board

import (
	"net/http"
	"net/url"
)

// events passes on what is recorded, as the service streams it, to the script that
// refreshes a page: with the visitor's own rights.
func (b *Board) events(w http.ResponseWriter, r *http.Request) {
	v := b.visitOf(r)
	path := "/v1/events?from=now"
	if mill := r.URL.Query().Get("mill"); mill != "" {
		path += "&mill=" + url.QueryEscape(mill)
	}
	ask, err := http.NewRequestWithContext(r.Context(), http.MethodGet, path, nil)
	if err != nil {
		http.Error(w, "The address cannot be read.", http.StatusBadRequest)
		return
	}
	ask.RemoteAddr = r.RemoteAddr
	ask.Header.Set("Accept", "text/event-stream")
	if v.token != "" {
		ask.Header.Set("Authorization", "Bearer "+v.token)
	}
	if last := r.Header.Get("Last-Event-ID"); last != "" {
		ask.Header.Set("Last-Event-ID", last)
	}
	v.service.ServeHTTP(w, ask)
}
