package rest_test

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
)

// inOrder are the roles of which each may do what those before it may.
var inOrder = []port.Role{port.Viewer, port.Grinder, port.Shift, port.Engineer, port.Admin}

// fed are the operations that a feeder may, and it may no other.
var fed = []string{"ImportPieces", "LoadCampaign"}

// TestRolesOperationsAndTokens asks every operation of the contract as every role
// and with every sort of token, good and bad: who may is not turned away, who may
// not is, before anything else is looked at.
func TestRolesOperationsAndTokens(t *testing.T) {
	s := openFile(t)
	s.works()
	app := s.service.App()
	admin := port.Call{Actor: "test", Role: port.Admin, Operation: "createToken"}
	make1 := func(in record.TokenInput) string {
		t.Helper()
		_, secret, err := app.CreateToken(t.Context(), admin, in)
		if err != nil {
			t.Fatal(err)
		}
		return secret
	}
	revoked := make1(record.TokenInput{Name: "revoked", Role: port.Admin})
	if err := app.RevokeToken(t.Context(), admin, "revoked"); err != nil {
		t.Fatal(err)
	}
	expired := make1(record.TokenInput{Name: "expired", Role: port.Admin, ExpiresAt: s.now.Add(time.Minute)})
	old := make1(record.TokenInput{Name: "rotated", Role: port.Admin})
	_, fresh, err := app.RotateToken(t.Context(), admin, "rotated", time.Time{}, 0)
	if err != nil {
		t.Fatal(err)
	}
	s.now = s.now.Add(time.Hour)
	bad := map[string]string{"none": "", "no bearer": "Basic YTpi", "unknown": "Bearer bb_unknown", "revoked": "Bearer " + revoked, "expired": "Bearer " + expired, "rotated away": "Bearer " + old, "empty": "Bearer "}
	good := map[port.Role][]string{port.Admin: {fresh}}
	for _, role := range port.Roles() {
		good[role] = append(good[role], s.tokens[role])
		if role != port.Admin { // of a mill: it may the same
			good[role] = append(good[role], make1(record.TokenInput{Name: "hot-" + string(role), Role: role, Mills: []string{"hot"}}))
		}
	}
	asked, turnedAway := 0, 0
	ask := func(method, path, authorization string) int {
		r := httptest.NewRequest(method, path, strings.NewReader(""))
		if authorization != "" {
			r.Header.Set("Authorization", authorization)
		}
		// Who may is answered 400 for it, and changes nothing.
		r.URL.RawQuery = "no-such-parameter=1"
		r.Header.Set("Content-Type", "application/json")
		w := httptest.NewRecorder()
		s.service.Handler().ServeHTTP(w, r)
		asked++
		return w.Code
	}
	operations := 0
	for path, item := range s.doc.Paths.Map() {
		at := strings.NewReplacer("{", "", "}", "").Replace(path)
		for method, op := range item.Operations() {
			operations++
			needed := port.Role(fmt.Sprint(op.Extensions["x-role"]))
			least := slices.Index(inOrder, needed)
			if least < 0 {
				t.Errorf("%s asks for the role %q", op.OperationID, needed)
			}
			for _, role := range port.Roles() {
				may := slices.Index(inOrder, role) >= least
				if role == port.Feeder {
					may = slices.Contains(fed, op.OperationID)
				}
				for _, secret := range good[role] {
					status := ask(method, at, "Bearer "+secret)
					if status == 403 {
						turnedAway++
					}
					if (status == 403) == may || status == 401 || status >= 500 {
						t.Errorf("%s by a %s: %d", op.OperationID, role, status)
					}
				}
			}
			for name, authorization := range bad {
				if status := ask(method, at, authorization); status != 401 {
					t.Errorf("%s with a token that is %s: %d", op.OperationID, name, status)
				}
			}
		}
	}
	t.Logf("%d operations, %d requests, %d turned away for their role", operations, asked, turnedAway)
	if operations < 70 || turnedAway < operations {
		t.Error("too little was asked to have shown anything")
	}
}

// TestFeeder sends pieces and a campaign of its mill, and nothing of another.
func TestFeeder(t *testing.T) {
	both(t, func(t *testing.T, s *shop) {
		s.rolling()
		s.take(step{name: "another mill", as: port.Engineer, do: "POST /v1/mills", body: `{"name":"bar","kind":"bar"}`, status: 201})
		lines := func(text string) string {
			r := s.request(port.Feeder, "POST", "/v1/pieces", text)
			r.Header.Set("Content-Type", "application/x-ndjson")
			return s.send(r).Body.String()
		}
		if got := lines(piece("P1", s.now)); !strings.Contains(got, `"stored_count":1`) {
			t.Errorf("pieces of a feeder: %s", got)
		}
		s.run([]step{
			{name: "a campaign", as: port.Feeder, do: "POST /v1/campaigns", body: programme("C1", 12), status: 201},
			{name: "no look at it", as: port.Feeder, do: "GET /v1/campaigns", status: 403},
			{name: "no change", as: port.Feeder, do: "POST /v1/changes", body: `{"stand":"F1","role":"work"}`, status: 403},
			{name: "no events", as: port.Feeder, do: "GET /v1/events", status: 403},
		})
		var answer struct{ Secret string }
		for role, name := range map[port.Role]string{port.Feeder: "bar-feed", port.Engineer: "bar-desk"} {
			w := s.take(step{name: "of one mill", as: port.Admin, do: "POST /v1/tokens", body: fmt.Sprintf(`{"name":%q,"role":%q,"mills":["bar"]}`, name, role), status: 201, want: `{"token":{"mills":["bar"]}}`})
			if err := json.Unmarshal(w.Body.Bytes(), &answer); err != nil {
				t.Fatal(err)
			}
			s.tokens[role] = answer.Secret
		}
		if got := lines(piece("P2", s.now)); !strings.Contains(got, `"refused"`) || !strings.Contains(got, "may not record in the mill hot") {
			t.Errorf("pieces of another mill: %s", got)
		}
		s.run([]step{
			{name: "a campaign of another mill", as: port.Feeder, do: "POST /v1/campaigns", body: programme("C2", 12), status: 403, want: `{"type":"/problems/forbidden","detail":"~bar only"}`},
			{name: "tried only", as: port.Feeder, do: "POST /v1/campaigns?dry_run=true", body: programme("C2", 12), status: 403},
			{name: "an engineer of another mill", as: port.Engineer, do: "POST /v1/rolls/WF1T/releases", body: `{"reason":"a crack"}`, status: 409},
			{name: "a hold of another mill's roll", as: port.Engineer, do: "POST /v1/rolls/WF1T/holds", body: `{"reason":"a crack"}`, status: 403},
			{name: "what is of no mill", as: port.Engineer, do: "POST /v1/grades", body: `{"name":"N","family":"cast_steel"}`, status: 403},
			{name: "its own", as: port.Engineer, do: "POST /v1/stands", body: `{"name":"B1","mill":"bar","order":1,"arrangement":"two_high"}`, status: 201},
			{name: "it reads all", as: port.Engineer, do: "GET /v1/rolls/WF1T?fields=number", status: 200},
			{name: "nothing was kept", as: port.Viewer, do: "GET /v1/rolls/WF1T?fields=state.held", status: 200, without: []string{"held"}},
			{name: "no admin of a mill", as: port.Admin, do: "POST /v1/tokens", body: `{"name":"x","role":"admin","mills":["bar"]}`, status: 422, want: `{"errors":[{"pointer":"#/mills"}]}`},
			{name: "no such mill", as: port.Admin, do: "POST /v1/tokens", body: `{"name":"x","role":"viewer","mills":["none"]}`, status: 422, want: `{"errors":[{"pointer":"#/mills/0"}]}`},
		})
		if err := s.service.Verify(t.Context()); err != nil {
			t.Error(err)
		}
	})
}

// TestTokensAreRotated: the name stays, the old secret goes when it is to, no life
// is longer than it may be, and it is seen when a token was used last.
func TestTokensAreRotated(t *testing.T) {
	both(t, func(t *testing.T, s *shop) {
		rotate := func(body string) string {
			t.Helper()
			w := s.take(step{name: "rotated", as: port.Admin, do: "POST /v1/tokens/grinder/rotations", body: body, status: 201, want: `{"token":{"name":"grinder","role":"grinder","rotated_at":"~"}}`})
			var answer struct{ Secret string }
			if err := json.Unmarshal(w.Body.Bytes(), &answer); err != nil {
				t.Fatal(err)
			}
			return answer.Secret
		}
		works := func(secret string, status int) {
			t.Helper()
			s.tokens[port.Grinder] = secret
			s.take(step{name: "used", as: port.Grinder, do: "GET /v1/works", status: status})
		}
		first := s.tokens[port.Grinder]
		second := rotate(`{"keep_old_secret_s":3600}`)
		works(first, 200)
		works(second, 200)
		s.take(step{name: "who it is", as: port.Grinder, do: "GET /v1/works", status: 200, want: `{"actor":"grinder"}`})
		s.now = s.now.Add(time.Hour)
		works(first, 401)
		works(second, 200)
		third := rotate(`{}`)
		works(second, 401)
		works(third, 200)
		s.take(step{name: "revoked", as: port.Admin, do: "DELETE /v1/tokens/grinder", status: 204})
		works(third, 401)
		works(rotate(`{"keep_old_secret_s":60}`), 200)
		works(third, 401)
		s.service.App().NoteUse()
		s.run([]step{
			{name: "used", as: port.Admin, do: "GET /v1/tokens?limit=1000", status: 200, want: `{"items":[{"name":"admin","used_at":"~"},{"name":"engineer"},{"name":"feeder"},{"name":"grinder","used_at":"~2031"},{"name":"shift"},{"name":"viewer"}]}`},
			{name: "too long", as: port.Admin, do: "POST /v1/tokens", body: `{"name":"x","role":"viewer","expires_at":"2058-01-01T00:00:00Z"}`, status: 422, want: `{"errors":[{"pointer":"#/expires_at","detail":"~732 days"}]}`},
			{name: "too long again", as: port.Admin, do: "POST /v1/tokens/shift/rotations", body: `{"expires_at":"2058-01-01T00:00:00Z"}`, status: 422},
			{name: "nobody", as: port.Admin, do: "POST /v1/tokens/nobody/rotations", body: `{}`, status: 404},
			{name: "an engineer reads the audit", as: port.Engineer, do: "GET /v1/audit?operation=rotateToken&by=admin&limit=1", status: 200, want: `{"items":[{"by":"admin","role":"admin","operation":"rotateToken","what":"~grinder","request_id":"~"}],"next":"~"}`},
			{name: "nobody below", as: port.Shift, do: "GET /v1/audit", status: 403},
		})
		if err := s.service.Verify(context.Background()); err != nil {
			t.Error(err)
		}
	})
}
