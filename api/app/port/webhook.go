package port

import (
	"context"
	"time"
)

// WebhookSecretPrefix is what Standard Webhooks puts before a key in base64.
const WebhookSecretPrefix = "whsec_"

// Webhook is somebody who is sent events, in order, each until it is taken.
type Webhook struct {
	Name      string
	URL       string
	Secret    string   // whsec_ and base64
	Kinds     []string // as of EventFilter; empty for all
	Mill      string   // empty for all
	CreatedAt time.Time
	CreatedBy string
	WebhookState
}

// WebhookState is how far somebody has been told.
type WebhookState struct {
	Place  EventPlace // the last event that was taken, or passed over
	Tries  int        // of the next event, failed
	DueAt  time.Time  // not before; zero for at once
	Sent   int64
	SentAt time.Time // zero before the first
	// Failure is the last one, with FailedAt; both stay when a later try succeeds.
	FailedAt  time.Time
	Failure   string
	StoppedAt time.Time // no more is sent, until it is resumed
}

// WebhookReader reads them.
type WebhookReader interface {
	Webhook(name string) (Webhook, error)
	Webhooks(p Page) ([]Webhook, string, error)
}

// WebhookWriter keeps them.
type WebhookWriter interface {
	// CreateWebhook is Conflicting when the name is taken.
	CreateWebhook(h Webhook) error
	DeleteWebhook(name string) error
	// LeaseWebhook lets by alone send until a moment. False when another has it.
	LeaseWebhook(name, by string, now, until time.Time) (bool, error)
	// PutWebhookState writes how far it was told while by has it leased, and leases it
	// on until a moment, zero to let it go. False when by has it no more.
	PutWebhookState(name, by string, s WebhookState, until time.Time) (bool, error)
	// ResumeWebhook takes up what was stopped, at once.
	ResumeWebhook(name string) error
}

// Delivery is one event on its way.
type Delivery struct {
	URL    string
	Secret string
	ID     string // the same in each try
	At     time.Time
	Body   []byte
}

// Sender sends events. An error says in plain words why one was not taken.
type Sender interface {
	Send(ctx context.Context, d Delivery) error
	// MaySend refuses an address that cannot be one to send to.
	MaySend(url string) error
}
