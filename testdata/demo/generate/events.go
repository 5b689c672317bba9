package main

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"os"
	"path/filepath"
	"sort"
	"time"
)

type object = map[string]any

// event is one request to the service, in the order of time.
type event struct {
	At   time.Time `json:"at"`
	Path string    `json:"path"`
	Body object    `json:"body"`
}

// post notes a request of a moment.
func (s *shop) post(at time.Time, path string, body object) {
	s.events = append(s.events, event{At: at, Path: path, Body: body})
}

// write puts the works into three files: set-up and history as requests, the
// pieces, and the programme ahead with what the demo asks.
func (s *shop) write(folder string) error {
	sort.SliceStable(s.events, func(i, j int) bool { return s.events[i].At.Before(s.events[j].At) })
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return err
	}
	if err := writeLines(filepath.Join(folder, "history.ndjson.gz"), s.events); err != nil {
		return err
	}
	if err := writeLines(filepath.Join(folder, "pieces.ndjson.gz"), s.pieces); err != nil {
		return err
	}
	ahead, err := json.MarshalIndent(s.ahead(), "", " ")
	if err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(folder, "ahead.json"), append(ahead, '\n'), 0o644)
}

// writeLines writes one JSON object a line, compressed without a time stamp
// so that the same works gives the same file.
func writeLines[T any](path string, items []T) error {
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	enc := json.NewEncoder(z)
	for _, item := range items {
		if err := enc.Encode(item); err != nil {
			return err
		}
	}
	if err := z.Close(); err != nil {
		return err
	}
	return os.WriteFile(path, b.Bytes(), 0o644)
}

func stamp(t time.Time) string { return t.UTC().Format(time.RFC3339) }
