package rest

import (
	"context"
	"testing"
	"time"
)

// TestGate fills a gate and wants each who comes to wait, or to be told why not.
func TestGate(t *testing.T) {
	g := newGate("the shop is full", 2, 3, 20*time.Millisecond)
	status := func(who string, weight int64) int64 {
		leave, err := g.enter(context.Background(), who, weight)
		if err == nil {
			leave()
			return 200
		}
		p, known := problemOf(err)
		if !known || p.Title == "" {
			t.Errorf("%v is no problem of the table", err)
		}
		return p.Status
	}
	leave, err := g.enter(context.Background(), "a", 1)
	if err != nil {
		t.Fatal(err)
	}
	if got := status("a", 1); got != 429 {
		t.Errorf("one caller may have more than half: %d", got)
	}
	if got := status("b", 1); got != 200 {
		t.Errorf("there is room for another: %d", got)
	}
	if got := status("b", 2); got != 503 {
		t.Errorf("for two there is none: %d", got)
	}
	leave()
	if got := status("b", 2); got != 200 {
		t.Errorf("now there is: %d", got)
	}
	if len(g.callers) != 0 || g.waiting != 0 {
		t.Errorf("%d callers and %d waiting are left", len(g.callers), g.waiting)
	}
}
