package webhook

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"strconv"
	"time"

	"barrelbook/api/app/port"
)

// limit bounds one try.
const limit = 15 * time.Second

// Sender sends events.
type Sender struct {
	allowed []netip.Prefix
	plain   *http.Client
	tls     *http.Client
}

var _ port.Sender = (*Sender)(nil)

// New makes a sender. Addresses that are not public are sent to only where one of
// the networks holds them.
func New(allowed []netip.Prefix) *Sender {
	s := &Sender{allowed: allowed}
	s.plain, s.tls = s.client(false), s.client(true)
	return s
}

// client asks no proxy, which would dial in its place, and follows no redirect.
func (s *Sender) client(tls bool) *http.Client {
	dialer := &net.Dialer{Timeout: limit, Control: s.mayDial(tls)}
	return &http.Client{Timeout: limit, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
		Transport: &http.Transport{DialContext: dialer.DialContext, TLSHandshakeTimeout: limit, MaxIdleConnsPerHost: 1, IdleConnTimeout: time.Minute, ForceAttemptHTTP2: true}}
}

// Send implements port.Sender. Taken is any answer of 2xx.
func (s *Sender) Send(ctx context.Context, d port.Delivery) error {
	if err := s.MaySend(d.URL); err != nil {
		return err
	}
	signature, err := Sign(d.Secret, d.ID, d.At, d.Body)
	if err != nil {
		return err
	}
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, d.URL, bytes.NewReader(d.Body))
	if err != nil {
		return err
	}
	r.Header.Set("Content-Type", "application/cloudevents+json")
	r.Header.Set("User-Agent", "barrelbookd")
	r.Header.Set("webhook-id", d.ID)
	r.Header.Set("webhook-timestamp", strconv.FormatInt(d.At.Unix(), 10))
	r.Header.Set("webhook-signature", signature)
	client := s.tls
	if r.URL.Scheme == "http" {
		client = s.plain
	}
	w, err := client.Do(r)
	if err != nil {
		return inWords(err)
	}
	defer w.Body.Close()
	_, _ = io.Copy(io.Discard, io.LimitReader(w.Body, 4<<10)) // so that the connection is used again
	if w.StatusCode/100 != 2 {
		return fmt.Errorf("answered %s", w.Status)
	}
	return nil
}

// inWords leaves out the method and the URL, which may hold a key.
func inWords(err error) error {
	var about *url.Error
	if errors.As(err, &about) {
		if about.Timeout() {
			return fmt.Errorf("no answer within %s", limit)
		}
		return about.Err
	}
	return err
}
