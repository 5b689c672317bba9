package board

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"html/template"
	"log/slog"
	"net/http"
	"net/netip"
	"strconv"
	"strings"
	"time"
)

// visit is one request for a page and who makes it.
type visit struct {
	*http.Request
	asker
	board *Board
	// signedIn says that the visitor has a token: only they are offered to sign
	// out, and only they can record.
	signedIn bool
}

// answer is a page: a template, what is put into it, or where to go instead.
type answer struct {
	template string
	title    string
	mill     string // of the links at the head, where the address does not name it
	data     any
	status   int           // 0 for 200
	made     time.Time     // of what is shown; zero for now
	refresh  time.Duration // how often the page is asked for anew; 0 for never
	goTo     string
}

// frame is what every page has around its own data.
type frame struct {
	Title    string
	SignedIn bool
	Proof    string // that a form comes from our own page
	Refresh  int    // seconds
	Mill     string // of the links at the head; empty for none
	Made     time.Time
	Data     any
	zone     *time.Location
}

// page answers a request to look.
func (b *Board) page(make func(*visit) (answer, error)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		v := b.visitOf(r)
		a, err := make(v)
		b.write(w, v, a, err)
	}
}

// form answers a request to do something: only from a form of our own pages.
func (b *Board) form(do func(*visit, http.ResponseWriter) (answer, error)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		v := b.visitOf(r)
		r.Body = http.MaxBytesReader(w, r.Body, 64<<10)
		if err := v.fromOurPage(); err != nil {
			b.write(w, v, answer{}, err)
			return
		}
		a, err := do(v, w)
		b.write(w, v, a, err)
	}
}

// visitOf finds out who looks. Those from an open network who are not signed in
// look with a viewer's rights.
func (b *Board) visitOf(r *http.Request) *visit {
	v := &visit{Request: r, board: b, asker: asker{service: b.service, ctx: r.Context(), from: r.RemoteAddr, trace: r.Header.Get("X-Request-Id")}}
	if c, err := r.Cookie(cookieName); err == nil && c.Value != "" {
		v.token, v.signedIn = c.Value, true
		return v
	}
	if from, err := b.address(r); err == nil && b.options.Viewer != nil {
		for _, network := range b.options.Open {
			if network.Contains(from) {
				v.service = b.options.Viewer
			}
		}
	}
	return v
}

// address is where a request comes from.
func (b *Board) address(r *http.Request) (netip.Addr, error) {
	if b.options.BehindProxy {
		told := strings.Split(r.Header.Get("X-Forwarded-For"), ",")
		if a, err := netip.ParseAddr(strings.TrimSpace(told[len(told)-1])); err == nil {
			return a.Unmap(), nil
		}
		return netip.Addr{}, errors.New("the proxy did not tell the address")
	}
	at, err := netip.ParseAddrPort(r.RemoteAddr)
	return at.Addr().Unmap(), err
}

// write writes a page, or what is wrong.
func (b *Board) write(w http.ResponseWriter, v *visit, a answer, err error) {
	var no *refused
	switch {
	case errors.As(err, &no) && no.status == http.StatusUnauthorized:
		clearCookie(w)
		http.Redirect(w, v.Request, "/board/sign-in?to="+template.URLQueryEscaper(v.URL.RequestURI()), http.StatusSeeOther)
		return
	case errors.As(err, &no):
		a = answer{template: "refused.html", title: no.title, status: no.status, data: no.detail}
	case err != nil:
		slog.Error("board", "page", v.URL.Path, "error", err)
		a = answer{template: "refused.html", title: "The page could not be made", status: http.StatusInternalServerError, data: "The service failed; whoever runs it finds the reason in its log."}
	}
	if a.goTo != "" {
		http.Redirect(w, v.Request, a.goTo, http.StatusSeeOther)
		return
	}
	if a.made.IsZero() {
		a.made = b.options.Now()
	}
	var page bytes.Buffer
	f := frame{Title: a.title, SignedIn: v.signedIn, Proof: proof(v.token), Refresh: int(a.refresh.Seconds()), Mill: cmp.Or(a.mill, v.PathValue("mill")), Made: a.made, Data: a.data, zone: b.options.Zone}
	if err := pages.ExecuteTemplate(&page, a.template, f); err != nil {
		slog.Error("board", "page", v.URL.Path, "error", err)
		http.Error(w, "The page could not be made.", http.StatusInternalServerError)
		return
	}
	send(w, v.Request, a.status, page.Bytes())
}

// send writes a page with what browsers need to keep it to itself. Unchanged
// pages are not sent again.
func send(w http.ResponseWriter, r *http.Request, status int, page []byte) {
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("Content-Security-Policy", "default-src 'none'; style-src 'self'; script-src 'self'; connect-src 'self'; img-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "same-origin")
	h.Set("Cache-Control", "private, no-cache")
	if status == 0 {
		status = http.StatusOK
		sum := sha256.Sum256(page)
		tag := strconv.Quote(hex.EncodeToString(sum[:8]))
		h.Set("ETag", tag)
		if r.Header.Get("If-None-Match") == tag {
			w.WriteHeader(http.StatusNotModified)
			return
		}
	}
	w.WriteHeader(status)
	_, _ = w.Write(page)
}

func asset(kind string, text []byte) http.HandlerFunc {
	return func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", kind)
		w.Header().Set("Cache-Control", "max-age=3600")
		w.Header().Set("X-Content-Type-Options", "nosniff")
		_, _ = w.Write(text)
	}
}
