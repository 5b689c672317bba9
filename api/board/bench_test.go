package board_test

import (
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/board"
)

// BenchmarkWall is the board of the demo's hot strip mill: made anew from the
// service's answers, and as one of many screens that share an answer. The two
// questions that it rests on stand beside it.
func BenchmarkWall(b *testing.B) {
	s := open(b, "hot-strip")
	cookie := &http.Cookie{Name: "barrelbook-board", Value: s.token(port.Viewer)}
	ask := func(b *testing.B, h http.Handler, method, path, body, tag string) *httptest.ResponseRecorder {
		r := httptest.NewRequest(method, path, stringBody(body))
		if body != "" {
			r.Header.Set("Content-Type", "application/json")
		}
		r.Header.Set("Authorization", "Bearer "+cookie.Value)
		r.Header.Set("If-None-Match", tag)
		r.AddCookie(cookie)
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if w.Code >= 400 {
			b.Fatalf("%s %s: %d %s", method, path, w.Code, w.Body)
		}
		return w
	}
	now := time.Now()
	wall := board.New(s.service.Handler(), board.Options{Now: func() time.Time { return now }})
	b.Run("made anew", func(b *testing.B) {
		for b.Loop() {
			now = now.Add(time.Minute)
			w := ask(b, wall, "GET", "/board/mills/strip", "", "")
			b.ReportMetric(float64(w.Body.Len()), "B/page")
		}
	})
	b.Run("shared", func(b *testing.B) {
		tag := ask(b, wall, "GET", "/board/mills/strip", "", "").Header().Get("ETag")
		for b.Loop() {
			if w := ask(b, wall, "GET", "/board/mills/strip", "", tag); w.Code != http.StatusNotModified {
				b.Fatalf("%d", w.Code)
			}
		}
	})
	for name, q := range map[string][2]string{"finish check alone": {"/v1/campaigns/" + s.ahead.Campaign + "/finish-checks", "{}"}, "plan alone": {"/v1/change-plans", `{"campaign":"` + s.ahead.Campaign + `"}`}} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				ask(b, s.service.Handler(), "POST", q[0], q[1], "")
			}
		})
	}
}
