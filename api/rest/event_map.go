package rest

import (
	"encoding/base64"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/api/oapi"
)

// eventType is what the types of all events begin with.
const eventType = "barrelbook."

// eventToWire is an event as a CloudEvent.
func (s *Server) eventToWire(e port.Event) (oapi.Event, error) {
	data, err := eventDataToWire(e.EventData)
	return oapi.Event{Id: strconv.FormatInt(e.Position, 10), Source: s.options.EventSource, Specversion: oapi.EventSpecversionN10, Type: eventType + string(e.Kind), Subject: e.Subject,
		Time: e.At.UTC(), Datacontenttype: oapi.EventDatacontenttypeApplicationjson, Data: data, Mill: optional(e.Mill), Cursor: eventCursor(e.EventPlace)}, err
}

func eventDataToWire(d port.EventData) (oapi.EventData, error) {
	w := oapi.EventData{Name: optional(d.Name), Version: optional(d.Version), Stand: optional(d.Stand), Role: optional(d.Role), SetOut: optional(d.SetOut), SetIn: optional(d.SetIn),
		What: optional(d.What), Rolls: some(d.Rolls), At: when(d.When), Count: optional(d.Count)}
	if d.Entry == nil {
		return w, nil
	}
	entry, err := entryToWire(record.BookEntry{Entry: *d.Entry}) // what replaces it has an event of its own
	w.Entry = &entry
	return w, err
}

// eventCursor writes a place in the order of events.
func eventCursor(p port.EventPlace) string {
	us := int64(0)
	if p.Position > 0 {
		us = p.At.UnixMicro()
	}
	return base64.RawURLEncoding.EncodeToString(fmt.Appendf(nil, "%d/%d", p.Position, us))
}

func eventPlace(parameter, cursor string) (*port.EventPlace, error) {
	if cursor == "" {
		return nil, nil
	}
	text, err := base64.RawURLEncoding.DecodeString(cursor)
	position, us, _ := strings.Cut(string(text), "/")
	p, err1 := strconv.ParseInt(position, 10, 64)
	u, err2 := strconv.ParseInt(us, 10, 64)
	place := &port.EventPlace{Position: p}
	if p > 0 {
		place.At = time.UnixMicro(u).UTC()
	}
	if err != nil || err1 != nil || err2 != nil || p < 0 || eventCursor(*place) != cursor {
		return nil, badField(parameter, "is not a cursor of events; take the next of the answer before, or leave it out to begin with the oldest event")
	}
	return place, nil
}

// eventKinds reads what types are asked for, each whole or its first word.
func eventKinds(field string, types *string) ([]string, error) {
	if types == nil {
		return nil, nil
	}
	var kinds []string
	for _, text := range strings.Split(*types, ",") {
		kind := strings.TrimPrefix(text, eventType)
		noun, _, whole := strings.Cut(kind, ".")
		known := port.EventKinds()
		entries := noun == string(port.EventEntry) || noun == string(port.EventChockEntry)
		if whole && !entries && !slices.Contains(known, port.EventKind(kind)) || !slices.ContainsFunc(known, func(k port.EventKind) bool {
			n, _, _ := strings.Cut(string(k), ".")
			return n == noun
		}) {
			return nil, badField(field, show(text)+" is not a type of event; they are "+joinedKinds(known))
		}
		kinds = append(kinds, kind)
	}
	return kinds, nil
}

func joinedKinds(kinds []port.EventKind) string {
	var texts []string
	for _, k := range kinds {
		texts = append(texts, string(k))
	}
	return strings.Join(texts, ", ")
}
