package stop_test

import (
	"errors"
	"testing"

	"barrelbook/domain/stop"
)

func TestCheck(t *testing.T) {
	if err := stop.Check(nil).Err(); err != nil {
		t.Errorf("no check ends the work: %v", err)
	}
	left := errors.New("the caller left")
	asked := 0
	w := stop.Watch{Every: 3, Check: func() error {
		if asked++; asked == 2 {
			return left
		}
		return nil
	}}
	for call := 1; call <= 9; call++ {
		if ended := w.Ended(); ended != (call >= 6) || (w.Err() == left) != ended {
			t.Errorf("call %d: %v, %v", call, ended, w.Err())
		}
	}
	if asked != 2 {
		t.Errorf("asked %d times, want twice: never again once it has ended", asked)
	}
}
