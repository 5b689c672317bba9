package record

import (
	"bytes"
	"encoding/json"
	"math/rand/v2"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/next"
)

// recall looks for the answer of an earlier request with the same key, which it
// lets end first: two attempts that overlap give one answer. An answer that this version does not know in all its fields was written by
// another one: it is refused, as half of it would look like the whole.
func recall(w port.Writer, call port.Call, answer any) (done bool, err error) {
	if call.Key == "" || call.DryRun {
		return false, nil
	}
	if err := w.ClaimKey(call.Actor, call.Operation, call.Key); err != nil {
		return false, err
	}
	past, err := w.Remembered(call.Actor, call.Operation, call.Key)
	if port.IsKind(err, port.NotFound) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	if past.Fingerprint != call.Fingerprint {
		return false, port.Fail(port.KeyReused, "the idempotency key %q was used before with another body; send a new key with a new record", call.Key)
	}
	if err := readAnswer(past.Answer, answer); err != nil {
		return false, &port.Error{Kind: port.Conflicting, Err: err, Next: []next.Step{next.ListRolls()}, Detail: "this request was carried out on " + port.Moment(past.At) +
			" by another version of the service, and its answer cannot be shown again; nothing was done now: read what it recorded, and do not send it under a new key"}
	}
	return true, nil
}

// forgotten is how many old answers go with each new one: enough that they are
// no more than was recorded in the time they are kept, few enough that nobody
// waits for it.
const forgotten = 20

// Events go many at a time and seldom: once in so many records.
const (
	forgetEventsEvery = 32
	forgottenEvents   = 1000
)

func (a *Recorder) remember(w port.Writer, call port.Call, answer any, now time.Time) error {
	if call.Key == "" {
		return nil
	}
	if a.KeepAnswers > 0 {
		if err := w.Forget(now.Add(-a.KeepAnswers), forgotten); err != nil {
			return err
		}
	}
	if a.KeepEvents > 0 && rand.IntN(forgetEventsEvery) == 0 {
		if err := w.ForgetEvents(now.Add(-a.KeepEvents), forgottenEvents); err != nil {
			return err
		}
	}
	kept, err := json.Marshal(answer)
	if err != nil {
		return err
	}
	return w.Remember(port.Replay{Actor: call.Actor, Operation: call.Operation, Key: call.Key, Fingerprint: call.Fingerprint, Answer: kept, At: now})
}

// readAnswer reads a remembered answer. A field that it has and the answer has
// not is an error: it was renamed or dropped since, and what it held would be
// empty.
func readAnswer(text []byte, answer any) error {
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	return d.Decode(answer)
}
