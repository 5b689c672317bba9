package board_test

import (
	"bufio"
	"net/http"
	"strings"
	"testing"

	"barrelbook/api/app/port"
)

// TestEventsReachTheBoard: who may look at the pages is told when something is
// recorded in the mill that is shown, and nobody else is.
func TestEventsReachTheBoard(t *testing.T) {
	s := open(t, "temper")
	if status, text := s.visitor().get("/board/events"); status != http.StatusUnauthorized {
		t.Errorf("without a token: %d %s", status, text)
	}
	v := s.visitor()
	v.signIn(s.token(port.Grinder))
	w, err := v.Get(v.url + "/board/events?mill=temper")
	if err != nil || w.StatusCode != http.StatusOK || w.Header.Get("Content-Type") != "text/event-stream" {
		t.Fatal(err, w)
	}
	defer w.Body.Close()
	found, ground := s.figures()
	path := "/board/rolls/" + s.ahead.Roll + "/regrind"
	if status, text := v.send(path, path, map[string]string{"found_mm": found, "ground_mm": ground, "purpose": "wear"}); status != http.StatusCreated {
		t.Fatalf("the regrind was not recorded: %d %s", status, text)
	}
	lines := bufio.NewScanner(w.Body)
	for lines.Scan() {
		if data, is := strings.CutPrefix(lines.Text(), "data: "); is {
			if !strings.Contains(data, "barrelbook.entry.reground") || !strings.Contains(data, "rolls/"+s.ahead.Roll) {
				t.Errorf("told: %s", data)
			}
			return
		}
	}
	t.Fatal("the stream ended", lines.Err())
}
