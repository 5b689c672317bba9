package record

import (
	"sync"
	"time"

	"barrelbook/api/app/port"
)

// tokenKnown is for how long a token that was looked up counts without looking
// again: by then every other process of the service heeds that it was revoked. One
// that revokes heeds it at once.
const tokenKnown = 500 * time.Millisecond

// mostTokens is how many are kept; a works has tens.
const mostTokens = 1000

// knownTokens are the tokens looked up last, by hash. Only those that exist are
// kept: guesses fill nothing.
type knownTokens struct {
	mu    sync.Mutex
	known map[string]knownToken
	gone  int64 // how often all were forgotten
}

type knownToken struct {
	row port.TokenRow
	at  time.Time
}

func (k *knownTokens) get(hash string, now time.Time, look func() (port.TokenRow, error)) (port.TokenRow, error) {
	k.mu.Lock()
	one, ok := k.known[hash]
	gone := k.gone
	k.mu.Unlock()
	if age := now.Sub(one.at); ok && age >= 0 && age < tokenKnown {
		return one.row, nil
	}
	row, err := look()
	if err != nil {
		return row, err
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	switch {
	case gone != k.gone: // it may have been revoked since it was looked up
	case k.known == nil || len(k.known) >= mostTokens:
		k.known = map[string]knownToken{hash: {row: row, at: now}}
	default:
		k.known[hash] = knownToken{row: row, at: now}
	}
	return row, nil
}

// forget has every token looked up again.
func (k *knownTokens) forget() {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.known, k.gone = nil, k.gone+1
}
