package rest

import (
	"math"
	"net/http"
	"runtime"
	"time"

	"github.com/labstack/echo/v4"

	"barrelbook/api/oapi"
)

// What bounds the memory and the processors of the service, whatever its callers
// send. The figures are measured by TestMemoryStaysBounded of the daemon.
const (
	// smallBody is the size up to which a body needs no room of its own: all
	// requests under way may have one.
	smallBody = 16 << 10
	// bodyRoom is the size of all larger bodies under way together. Reading one
	// takes a few times its size.
	bodyRoom = 48 << 20
	// mostUnderWay bounds the requests under way, mostStreams those of them that
	// bring pieces.
	mostUnderWay = 256
	mostStreams  = 16
	// mostFollowers bounds those who wait for events: they do nothing meanwhile.
	mostFollowers = 512
	// queueLimit is how many heavy requests wait for each that works.
	queueLimit = 16
	// bodyWait is how long a large body waits for room, computeWait how long a
	// heavy request does for its place.
	bodyWait    = 15 * time.Second
	computeWait = 45 * time.Second
)

// bounds are the gates of the service.
type bounds struct {
	underWay, streams, followers, bodies, places *gate
}

// newBounds makes them for so many heavy requests at a time; 0 stands for one for
// each processor.
func newBounds(places int) bounds {
	if places <= 0 {
		places = max(2, runtime.GOMAXPROCS(0))
	}
	b := bounds{
		underWay:  newGate("the service has as many requests under way as it takes", mostUnderWay, mostUnderWay, time.Second),
		streams:   newGate("as many imports of pieces are under way as the service takes", mostStreams, mostStreams, time.Second),
		followers: newGate("as many follow the events as the service takes", mostFollowers, mostFollowers, time.Second),
		bodies:    newGate("the service reads as many large bodies as it takes", bodyRoom, 4*mostStreams, bodyWait),
		places:    newGate("every place for calculations and heavy answers is taken", int64(places), queueLimit*places, computeWait),
	}
	b.underWay.share, b.bodies.share = mostUnderWay, bodyRoom*3/4
	return b
}

// ofOne lets the one caller there is have all of it.
func (b *bounds) ofOne() {
	for _, g := range []*gate{b.underWay, b.streams, b.followers, b.bodies, b.places} {
		g.share, g.most = math.MaxInt64, 2*g.most
	}
}

// roomy lets a request in when there is room for it and its body, until it is
// answered.
func (s *Server) roomy(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		op, err := s.operationOf(c)
		if err != nil {
			return err
		}
		if op == nil {
			return next(c)
		}
		ctx := c.Request().Context()
		who := askedOf(ctx).caller.Name
		all := s.bounds.underWay
		if op.waits {
			all = s.bounds.followers
			_ = http.NewResponseController(c.Response()).SetWriteDeadline(time.Time{})
		}
		leave, err := all.enter(ctx, who, 1)
		if err != nil {
			return err
		}
		defer leave()
		gate, weight := s.bounds.bodies, s.weight(c.Request(), op)
		if op.media == linesMedia {
			gate, weight = s.bounds.streams, 1
		}
		if weight > 0 {
			leave, err := gate.enter(ctx, who, weight)
			if err != nil {
				return err
			}
			defer leave()
		}
		return next(c)
	}
}

// weight is the room that a request's body needs, or the answer where that is as
// large; 0 for a small one.
func (s *Server) weight(r *http.Request, op *operation) int64 {
	if op.id == "getCampaign" {
		return maxTableBody / 4
	}
	limit := s.bodyLimit(op)
	switch {
	case op.body != nil && r.Header.Get(echo.HeaderContentEncoding) != "":
		return limit // what it grows to is not known
	case op.body == nil, r.ContentLength >= 0 && r.ContentLength <= smallBody:
		return 0
	case r.ContentLength < 0:
		return limit // who does not say gets what the largest needs
	}
	return min(r.ContentLength, limit)
}

// inPlace gives a heavy request one of the places while it is worked on, not
// while its body is read or its answer is sent: a slow network holds none.
func (s *Server) inPlace(work oapi.StrictHandlerFunc, _ string) oapi.StrictHandlerFunc {
	return func(c echo.Context, request any) (any, error) {
		op, err := s.operationOf(c)
		if err != nil || op == nil || !op.heavy {
			return work(c, request)
		}
		ctx := c.Request().Context()
		leave, err := s.bounds.places.enter(ctx, askedOf(ctx).caller.Name, 1)
		if err != nil {
			return nil, err
		}
		defer leave()
		return work(c, request)
	}
}
