package storetest

import (
	"errors"
	"fmt"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
)

func piece(source, id string, at time.Time) mill.Piece {
	return mill.Piece{Source: source, ID: id, Mill: "HSM", RolledAt: at, Material: "S235", Block: "b1", Demand: mill.Demanding, MassT: 24.125, WidthMM: 1250.5, EntryThicknessMM: 35,
		Passes: []mill.Pass{
			{Stand: "F1", EntryThicknessMM: 35, ExitThicknessMM: 20.0001, WidthMM: 1250.5, ForceKN: 18000, SpeedMPerS: 1.5, TimeS: 60, TemperatureC: 1010, LateralOffsetMM: -3,
				BendingForceKN: 400, WorkRollShiftMM: -75.5, IntermediateRollShiftMM: 180, IntermediateBendingForceKN: -250, PairCrossDeg: 0.75, Groove: 2, Reverse: true},
			{Stand: "F2", ExitThicknessMM: 12},
		}}
}

func testPieces(t *testing.T, s Store) {
	works(t, s)
	const many = 1234 // of no round size, so that a last statement is short
	batch := make([]mill.Piece, many)
	for i := range batch {
		batch[i] = piece("level2", fmt.Sprintf("C%d", (i*7)%many), hours(float64(i)))
	}
	inserted := func(batch []mill.Piece) (isNew []bool) {
		write(t, s, func(w port.Writer) (err error) {
			isNew, err = w.InsertPieces(batch)
			return err
		})
		return isNew
	}
	for i, isNew := range inserted(batch) {
		if !isNew {
			t.Fatalf("piece %d of the first batch is not new", i)
		}
	}
	other := piece("other", "C1", day)
	other.Mill = "BAR"
	twice := piece("level2", "new", hours(-5))
	again := inserted([]mill.Piece{batch[5], other, twice, twice, batch[0]})
	same(t, "which of a second batch are new", again, []bool{false, true, true, false, false})
	if got := inserted(nil); len(got) != 0 {
		t.Errorf("no pieces: %v", got)
	}
	read(t, s, func(r port.Reader) error {
		c, err := r.Counts()
		same(t, "counts", c, port.Counts{Pieces: many + 2})
		newest, next, err1 := r.Pieces("HSM", port.Page{Limit: 2})
		same(t, "newest pieces", newest, []mill.Piece{batch[many-1], batch[many-2]})
		older, _, err2 := r.Pieces("HSM", port.Page{Limit: 1, After: next})
		same(t, "next piece", older, []mill.Piece{batch[many-3]})
		bar, _, err3 := r.Pieces("BAR", port.Page{})
		same(t, "pieces of another mill", bar, []mill.Piece{other})
		all, _, err4 := r.Pieces("", port.Page{Limit: many + 5})
		if len(all) != many+2 {
			t.Errorf("%d pieces of all mills, want %d", len(all), many+2)
		}
		return errors.Join(err, err1, err2, err3, err4)
	})
}

func testCampaigns(t *testing.T, s Store) {
	works(t, s)
	c := port.ProgrammeRow{LoadedBy: "E. Planner", Programme: mill.Programme{Name: "week 9", Mill: "HSM", StartsAt: day, MinutesPerPiece: 2.5,
		Stops: []mill.PlannedStop{{BeforePiece: 2, Name: "maintenance", Minutes: 45}}}}
	for i := range 3 {
		p := piece("", fmt.Sprintf("P%d", i), time.Time{})
		c.Pieces = append(c.Pieces, p)
	}
	empty := port.ProgrammeRow{Programme: mill.Programme{Name: "none", Mill: "BAR", StartsAt: hours(1)}}
	write(t, s, func(w port.Writer) error { return errors.Join(w.CreateCampaign(c), w.CreateCampaign(empty)) })
	refused(t, s, port.Conflicting, func(w port.Writer) error { return w.CreateCampaign(c) })
	read(t, s, func(r port.Reader) error {
		got, err := r.Campaign("week 9")
		same(t, "campaign", got, c)
		all, _, err1 := r.Campaigns("", port.Page{})
		same(t, "campaigns newest first", all, []port.ProgrammeSummary{
			{Name: "none", Mill: "BAR", StartsAt: hours(1)},
			{Name: "week 9", Mill: "HSM", StartsAt: day, MinutesPerPiece: 2.5, Pieces: 3, TonnageT: c.TonnageT(), Stops: c.Stops, LoadedBy: "E. Planner"}})
		of, _, err2 := r.Campaigns("BAR", port.Page{})
		if len(of) != 1 {
			t.Errorf("campaigns of BAR: %v", of)
		}
		return errors.Join(err, err1, err2)
	})
}

func testTokens(t *testing.T, s Store) {
	token := port.TokenRow{Name: "press-shop", Hash: "abc", Role: port.Shift, CreatedAt: day, ExpiresAt: hours(100)}
	write(t, s, func(w port.Writer) error { return w.CreateToken(token) })
	refused(t, s, port.Conflicting, func(w port.Writer) error { return w.CreateToken(token) })
	found := func() (row port.TokenRow) {
		read(t, s, func(r port.Reader) (err error) { row, err = r.TokenByHash("abc"); return err })
		return row
	}
	same(t, "token", found(), token)
	write(t, s, func(w port.Writer) error { return w.RevokeToken("press-shop", hours(1)) })
	write(t, s, func(w port.Writer) error { return w.RevokeToken("press-shop", hours(2)) })
	refused(t, s, port.NotFound, func(w port.Writer) error { return w.RevokeToken("nobody", day) })
	token.RevokedAt = hours(1)
	same(t, "revoked token, revoked twice", found(), token)
	read(t, s, func(r port.Reader) error {
		all, _, err := r.Tokens(port.Page{})
		same(t, "tokens", all, []port.TokenRow{token})
		return err
	})
	token.Hash, token.PreviousHash, token.PreviousUntil, token.RotatedAt, token.RevokedAt, token.ExpiresAt = "def", "abc", hours(9), hours(8), time.Time{}, hours(200)
	write(t, s, func(w port.Writer) error { return w.RotateToken(token) })
	write(t, s, func(w port.Writer) error { return w.UseToken("press-shop", hours(10)) })
	write(t, s, func(w port.Writer) error { return w.UseToken("press-shop", hours(9)) }) // told late
	token.UsedAt = hours(10)
	same(t, "rotated token, by the secret before", found(), token)
	works(t, s)
	mine := port.TokenRow{Name: "hot", Hash: "ghi", Role: port.Feeder, Mills: []string{"BAR", "HSM"}, CreatedAt: day, ExpiresAt: hours(1)}
	write(t, s, func(w port.Writer) error { return w.CreateToken(mine) })
	read(t, s, func(r port.Reader) error {
		got, err := r.Token("hot")
		same(t, "a token of two mills", got, mine)
		return err
	})
	refused(t, s, port.NotFound, func(w port.Writer) error { return w.RotateToken(port.TokenRow{Name: "nobody"}) })
}

// testScope lets what is recorded under a context be of its mills alone, and names
// in the audit what it was about.
func testScope(t *testing.T, s Store) {
	works(t, s)
	received(t, s, "W1", "W2")
	bar := port.WithMills(t.Context(), []string{"BAR"})
	hot := port.WithMills(t.Context(), []string{"BAR", "HSM"})
	hold := func(w port.Writer) error {
		_, err := enter(w, "W1", hours(1), looked())
		return errors.Join(err, w.WriteAudit(port.AuditRow{At: hours(1), By: "me", Role: port.Grinder, Operation: "recordInspection", RequestID: "q", What: "looked"}))
	}
	for what, fn := range map[string]func(port.Writer) error{
		"an entry": hold, "a grade": func(w port.Writer) error { return w.CreateGrade(port.Grade{Name: "N"}) }, "a mill": func(w port.Writer) error { return w.CreateMill(mill.Mill{Name: "N", Kind: mill.Bar}) },
		"a change": func(w port.Writer) error {
			return w.CreateChange(port.ChangeRow{Name: "C", Stand: "F1", Role: mill.Work, At: day})
		},
	} {
		if err := s.Write(bar, fn); !port.IsKind(err, port.Forbidden) {
			t.Errorf("%s from beyond the mill: %v", what, err)
		}
	}
	if err := s.Write(bar, func(w port.Writer) error {
		if err := w.CreateChange(port.ChangeRow{Name: "D", Stand: "B1", Role: mill.Work, At: day}); err != nil {
			return err
		}
		return w.InScope()
	}); err != nil {
		t.Errorf("in its own mill: %v", err)
	}
	if err := s.Write(hot, hold); err != nil {
		t.Errorf("in one of its mills: %v", err)
	}
	read(t, s, func(r port.Reader) error {
		for name, f := range map[string]port.AuditFilter{"all": {}, "by": {By: "me"}, "operation": {Operation: "recordInspection"}, "subject": {Subject: "rolls/W1"}, "request": {RequestID: "q"}, "time": {From: hours(1), Until: hours(2)}} {
			got, _, err := r.Audit(f, port.Page{})
			if err != nil || len(got) != 1 || got[0].Role != port.Grinder || len(got[0].Subjects) != 1 || got[0].Subjects[0] != "rolls/W1" {
				t.Errorf("the audit, %s: %+v %v", name, got, err)
			}
		}
		for name, f := range map[string]port.AuditFilter{"by": {By: "you"}, "operation": {Operation: "x"}, "subject": {Subject: "rolls/W"}, "a wild card": {Subject: "rolls/%"}, "from": {From: hours(2)}, "until": {Until: hours(1)}} {
			if got, _, err := r.Audit(f, port.Page{}); err != nil || len(got) != 0 {
				t.Errorf("the audit of another %s: %+v %v", name, got, err)
			}
		}
		return nil
	})
}

func testAudit(t *testing.T, s Store) {
	rows := []port.AuditRow{{At: day, By: "a", What: "first", RequestID: "1"}, {At: hours(-1), By: "b", What: "second"}, {At: day, By: "c", What: "third"}}
	write(t, s, func(w port.Writer) error {
		return errors.Join(w.WriteAudit(rows[0]), w.WriteAudit(rows[1]), w.WriteAudit(rows[2]))
	})
	read(t, s, func(r port.Reader) error {
		two, next, err1 := r.Audit(port.AuditFilter{}, port.Page{Limit: 2})
		one, _, err2 := r.Audit(port.AuditFilter{}, port.Page{Limit: 2, After: next})
		same(t, "audit, last written first", append(two, one...), []port.AuditRow{rows[2], rows[1], rows[0]})
		return errors.Join(err1, err2)
	})
}

func testAnswers(t *testing.T, s Store) {
	a := port.Replay{Actor: "a", Operation: "receiveRoll", Key: "k1", Fingerprint: "f", Answer: []byte("{\"x\": 1}\n\x00"), At: day}
	write(t, s, func(w port.Writer) error { return w.Remember(a) })
	refused(t, s, port.Conflicting, func(w port.Writer) error { return w.Remember(a) })
	b := a
	b.Actor, b.At = "b", hours(3)
	write(t, s, func(w port.Writer) error { return w.Remember(b) })
	read(t, s, func(r port.Reader) error {
		got, err := r.Remembered("a", "receiveRoll", "k1")
		same(t, "answer", got, a)
		return err
	})
	write(t, s, func(w port.Writer) error { return w.Forget(hours(1), 20) })
	read(t, s, func(r port.Reader) error {
		if _, err := r.Remembered("a", "receiveRoll", "k1"); !port.IsKind(err, port.NotFound) {
			t.Errorf("a forgotten answer: %v", err)
		}
		_, err := r.Remembered("b", "receiveRoll", "k1")
		return err
	})
}
