// Package webhook sends events to addresses that admins have named: signed in the
// form of Standard Webhooks, and to no address of the machine's own networks that
// was not allowed.
package webhook

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"strings"
	"time"

	"barrelbook/api/app/port"
)

// Sign gives the signature of one message: v1, HMAC-SHA256 over its id, the second
// at which it is sent and its body, parted by dots (Standard Webhooks 1.0.0,
// "Signature scheme").
func Sign(secret, id string, at time.Time, body []byte) (string, error) {
	key, err := base64.StdEncoding.DecodeString(strings.TrimPrefix(secret, port.WebhookSecretPrefix))
	if err != nil {
		return "", fmt.Errorf("the secret is not base64: %w", err)
	}
	mac := hmac.New(sha256.New, key)
	fmt.Fprintf(mac, "%s.%d.", id, at.Unix())
	mac.Write(body)
	return "v1," + base64.StdEncoding.EncodeToString(mac.Sum(nil)), nil
}
