package rest

import (
	"context"
	"encoding/json"
	"net/http"
	"sync"
	"time"

	"barrelbook/api/app/record"
	"barrelbook/api/oapi"
)

// rollAnswer is a roll as it goes out.
type rollAnswer struct {
	body  []byte
	tag   string
	fresh *record.Fresh
}

var _ oapi.GetRollResponseObject = (*rollAnswer)(nil)

func newRollAnswer(v record.RollView, fresh *record.Fresh) (*rollAnswer, error) {
	body, err := json.Marshal(rollToWire(v))
	if err != nil {
		return nil, err
	}
	return &rollAnswer{body: append(body, '\n'), tag: textTag(v.Version(), body), fresh: fresh}, nil
}

// VisitGetRollResponse writes it.
func (a *rollAnswer) VisitGetRollResponse(w http.ResponseWriter) error {
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("ETag", a.tag)
	w.WriteHeader(http.StatusOK)
	_, err := w.Write(a.body)
	return err
}

func (s *Server) rollAsOf(ctx context.Context, number string, at time.Time) (*rollAnswer, error) {
	v, err := s.app.RollAsOf(ctx, number, at)
	if err != nil {
		return nil, err
	}
	v.Cautions = append(v.Cautions, "Tonnes, kilometres and wear are not told for a past moment: the totals here are empty.")
	return newRollAnswer(v, nil)
}

// rollNow gives the answer that went out before where one statement finds that it
// is the same still: then neither state nor totals are read and decoded.
func (s *Server) rollNow(ctx context.Context, number string) (*rollAnswer, error) {
	if a := s.rolls.get(number); a != nil {
		if same, err := s.app.StillFresh(ctx, a.fresh); err != nil || same {
			return a, err
		}
	}
	v, fresh, err := s.app.FreshRoll(ctx, number)
	if err != nil {
		return nil, err
	}
	a, err := newRollAnswer(v, fresh)
	if err == nil && fresh != nil {
		s.rolls.put(number, a)
	}
	return a, err
}

// mostRollBytes bounds the answers kept: about five thousand rolls.
const mostRollBytes = 32 << 20

// keptRolls are answers by number. When they are too many any may go.
type keptRolls struct {
	mu    sync.Mutex
	byNo  map[string]*rollAnswer
	bytes int
}

func (k *keptRolls) get(number string) *rollAnswer {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.byNo[number]
}

func (k *keptRolls) put(number string, a *rollAnswer) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.byNo == nil {
		k.byNo = map[string]*rollAnswer{}
	}
	k.drop(number)
	for other := range k.byNo {
		if k.bytes+len(a.body) <= mostRollBytes {
			break
		}
		k.drop(other)
	}
	k.byNo[number] = a
	k.bytes += len(a.body)
}

func (k *keptRolls) drop(number string) {
	if a := k.byNo[number]; a != nil {
		k.bytes -= len(a.body)
		delete(k.byNo, number)
	}
}
