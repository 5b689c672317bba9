package roll

import "time"

// Stay is one time in a stand, as the book tells it.
type Stay struct {
	// In is the roll as it went in: its diameter and crown, and when it was
	// ground.
	In        State
	From, To  time.Time // To is zero while it is in
	ChangeIn  string
	ChangeOut string
	Past      *PastStay // nil but for a stay carried over with its totals
}

// Stays reads the stays of a roll in stands out of its book, in the order in
// which they happened. It fails as Replay does.
func Stays(entries []Entry) ([]Stay, error) {
	effective, err := Effective(entries)
	if err != nil {
		return nil, err
	}
	var stays []Stay
	var s State
	for _, e := range effective {
		before := s
		if s, err = follow(s, e); err != nil {
			return nil, err
		}
		switch b := e.Body.(type) {
		case Mounted:
			stays = append(stays, Stay{In: s.clone(), From: e.At, ChangeIn: b.Change})
		case Withdrawn:
			last := &stays[len(stays)-1]
			last.To, last.ChangeOut = e.At, b.Change
		case PastStay:
			in := before.clone()
			in.Stage, in.Stand, in.Position, in.MountedAt = StageMounted, b.Stand, b.Position, b.From
			stays = append(stays, Stay{In: in, From: b.From, To: e.At, Past: &b})
		}
	}
	return stays, nil
}
