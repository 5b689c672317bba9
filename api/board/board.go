// Package board is what people look at: pages for the screen on the wall of the
// roll shop, the tablet at a grinder and the engineer's desk. The pages are made
// here, on the server, and can be read without any script; nothing in them is
// loaded from elsewhere.
//
// The board asks the contract, in this process, as any other client would, with
// the token of the person who looks: it can show and do what they may, and no
// more, and says what the service says.
package board

import (
	"net/http"
	"net/netip"
	"time"

	"barrelbook/domain/drawing"
)

// Options are what a board needs beside the service.
type Options struct {
	// Open are the networks that may look without signing in. Defaults to none.
	Open []netip.Prefix
	// Viewer answers those who look from an open network: the service with a
	// viewer's rights and no others. Nil where Open is empty.
	Viewer http.Handler
	// Zone is the zone that times are shown in. Defaults to the machine's.
	Zone *time.Location
	// BehindProxy takes an address from the last entry of X-Forwarded-For, and
	// takes connections to be encrypted.
	BehindProxy bool
	// Now defaults to time.Now.
	Now func() time.Time
}

// Board serves the pages under /board/ and hands everything else to the service.
type Board struct {
	service http.Handler
	options Options
	mux     *http.ServeMux
	walls   cache
}

// New puts a board in front of a service.
func New(service http.Handler, o Options) *Board {
	if o.Zone == nil {
		o.Zone = time.Local
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	b := &Board{service: service, options: o, mux: http.NewServeMux()}
	b.walls.now = o.Now
	b.mux.Handle("/", service)
	b.mux.HandleFunc("GET /{$}", func(w http.ResponseWriter, r *http.Request) { http.Redirect(w, r, "/board/", http.StatusFound) })
	b.mux.HandleFunc("GET /board/style.css", asset("text/css; charset=utf-8", append(styleSheet, drawing.DarkStyle()...)))
	b.mux.HandleFunc("GET /board/icon.svg", asset("image/svg+xml", icon))
	b.mux.HandleFunc("GET /board/refresh.js", asset("text/javascript; charset=utf-8", refreshScript))
	b.mux.HandleFunc("GET /board/events", b.events)
	b.mux.HandleFunc("GET /board/sign-in", b.page(b.signInPage))
	b.mux.HandleFunc("POST /board/sign-in", b.form(b.signIn))
	b.mux.HandleFunc("POST /board/sign-out", b.form(b.signOut))
	b.mux.HandleFunc("GET /board/{$}", b.page(b.mills))
	b.mux.HandleFunc("GET /board/find", b.page(b.find))
	b.mux.HandleFunc("GET /board/mills/{mill}", b.page(b.wall))
	b.mux.HandleFunc("GET /board/mills/{mill}/grinding", b.page(b.grinding))
	b.mux.HandleFunc("GET /board/mills/{mill}/programme", b.page(b.programme))
	b.mux.HandleFunc("GET /board/mills/{mill}/records", b.page(b.records))
	b.mux.HandleFunc("GET /board/rolls/{roll}", b.page(b.roll))
	b.mux.HandleFunc("GET /board/rolls/{roll}/regrind", b.page(b.regrindPage))
	b.mux.HandleFunc("POST /board/rolls/{roll}/regrind", b.form(b.regrind))
	b.mux.HandleFunc("/board/", b.page(func(*visit) (answer, error) {
		return answer{}, &refused{status: http.StatusNotFound, title: "Not found", detail: "There is no such page. The board has the mills, their grinding lists and programmes, and a page for each roll."}
	}))
	return b
}

// ServeHTTP implements http.Handler.
func (b *Board) ServeHTTP(w http.ResponseWriter, r *http.Request) { b.mux.ServeHTTP(w, r) }
