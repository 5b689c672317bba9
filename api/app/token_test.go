package app_test

import (
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/domain/mill"
)

func TestRolesAreALadder(t *testing.T) {
	t.Parallel()
	ladder := []port.Role{port.Viewer, port.Grinder, port.Shift, port.Engineer, port.Admin}
	for i, has := range ladder {
		for k, needed := range ladder {
			if got := has.May(needed); got != (i >= k) {
				t.Errorf("a %s may do what needs a %s: %v", has, needed, got)
			}
		}
	}
	for _, r := range []port.Role{"", "root"} {
		if r.May(port.Viewer) || r.May("") || r.May(r) {
			t.Errorf("the unknown role %q may something", r)
		}
	}
}

// TestTokens: the secret is shown once, kept as a digest, and of no use when it
// is wrong, expired or revoked, all in the same words.
func TestTokens(t *testing.T) {
	t.Parallel()
	w := newWorks(t)
	admin := port.Call{Actor: "admin", Role: port.Admin, Operation: "createToken", Key: "k", Fingerprint: "f"}
	row, secret, err := w.CreateToken(w.ctx, admin, record.TokenInput{Name: "grinder-1", Role: port.Grinder, ExpiresAt: start.Add(48 * time.Hour)})
	w.must(err)
	if strings.Contains(w.everything(), secret) {
		t.Fatal("the secret is in the data file")
	}
	if got, err := w.Authenticate(w.ctx, secret); err != nil || got.Name != "grinder-1" || got.Role != port.Grinder {
		t.Fatalf("%+v, %v", got, err)
	}
	_, other, err := w.CreateToken(w.ctx, admin, record.TokenInput{Name: "grinder-2", Role: port.Grinder})
	w.must(err)
	if other == secret || row.Hash == "" {
		t.Error("two tokens have one secret, or no digest is kept")
	}
	w.refused(port.Conflicting, "", []string{"grinder-1"}, func() error {
		_, _, err := w.CreateToken(w.ctx, admin, record.TokenInput{Name: "grinder-1", Role: port.Admin})
		return err
	})
	w.refused(port.Impossible, "expires_at", []string{"future"}, func() error {
		_, _, err := w.CreateToken(w.ctx, admin, record.TokenInput{Name: "late", Role: port.Viewer, ExpiresAt: start})
		return err
	})
	w.refused(port.NotFound, "", []string{"nobody"}, func() error { return w.RevokeToken(w.ctx, port.Call{Actor: "admin", Role: port.Admin}, "nobody") })
	w.must(w.RevokeToken(w.ctx, port.Call{Actor: "admin", Role: port.Admin}, "grinder-2"))
	words := map[string]bool{}
	unknown := func(what, secret string) {
		t.Helper()
		got, err := w.Authenticate(w.ctx, secret)
		if !port.IsKind(err, port.Unauthorised) || got.Name != "" {
			t.Fatalf("%s: %+v, %v", what, got, err)
		}
		words[err.Error()] = true
	}
	unknown("none", "")
	unknown("wrong", secret[:len(secret)-1]+"_")
	unknown("revoked", other)
	w.pass(48*time.Hour - time.Microsecond)
	if _, err := w.Authenticate(w.ctx, secret); err != nil {
		t.Errorf("just before it expires: %v", err)
	}
	w.pass(time.Microsecond)
	unknown("expired", secret)
	if len(words) != 1 {
		t.Errorf("the refusals can be told apart: %v", words)
	}
}

// TestProgrammesRefused leaves nothing of a programme that cannot be rolled.
func TestProgrammesRefused(t *testing.T) {
	t.Parallel()
	w := shop(t)
	w.campaign("C1", 3, nil, "F5", "F6")
	good := func() mill.Programme {
		return mill.Programme{Name: "C2", Mill: "hot", Pieces: []mill.Piece{coil("A1", 1400, "F5", "F6"), coil("A2", 1400, "F5", "F6")}}
	}
	for name, c := range map[string]struct {
		change func(*mill.Programme)
		kind   port.Kind
		field  string
	}{
		"a name that is taken":    {func(p *mill.Programme) { p.Name = "C1" }, port.Conflicting, ""},
		"a mill nobody knows":     {func(p *mill.Programme) { p.Mill = "xx" }, port.Impossible, "mill"},
		"no pieces":               {func(p *mill.Programme) { p.Pieces = nil }, port.Impossible, "pieces"},
		"a piece twice":           {func(p *mill.Programme) { p.Pieces[1].ID = "A1" }, port.Impossible, "pieces/1/id"},
		"thicker out than in":     {func(p *mill.Programme) { p.Pieces[1].Passes[1].ExitThicknessMM = 30 }, port.Impossible, "pieces/1/passes/1/exit_thickness_mm"},
		"a stop after the last":   {func(p *mill.Programme) { p.Stops = []mill.PlannedStop{{BeforePiece: 3}} }, port.Impossible, "planned_stops/0/before_piece"},
		"a stand of another mill": {func(p *mill.Programme) { p.Pieces[0].Passes[0].Stand = "F9" }, port.Impossible, "pieces/0/passes/0/stand"},
	} {
		t.Run(name, func(t *testing.T) {
			p := good()
			c.change(&p)
			w.refused(c.kind, c.field, nil, func() error {
				_, err := w.LoadCampaign(w.ctx, engineer, p)
				return err
			})
		})
	}
	c, err := w.LoadCampaign(w.ctx, engineer, good())
	w.must(err)
	kept, err := w.Campaign(w.ctx, "C2")
	w.must(err)
	if kept.LoadedBy != "engineer" || !kept.StartsAt.Equal(w.clock.now) || kept.MinutesPerPiece != mill.DefaultMinutesPerPiece || len(kept.Pieces) != 2 || c.TonnageT != 40 {
		t.Errorf("%+v", kept)
	}
	list, _, err := w.Campaigns(w.ctx, "hot", port.Page{Limit: 5})
	if err != nil || len(list) != 2 {
		t.Errorf("%+v, %v", list, err)
	}
}
