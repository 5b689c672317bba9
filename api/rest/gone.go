package rest

import (
	"context"
	"net"
	"time"
)

type connKey struct{}

// ConnContext gives requests their connection, for http.Server: a stream then sees
// that its sender has left while nothing is read from it.
func ConnContext(ctx context.Context, c net.Conn) context.Context {
	return context.WithValue(ctx, connKey{}, c)
}

// lookEvery is how often a stream looks whether its sender is there. net/http sees it
// only where the whole body was read; what was sent and not read hides it.
const lookEvery = 20 * time.Millisecond

// watchSender calls left when whoever sends the body has closed the connection, until
// ctx ends. Without the connection, or where the system cannot tell, it does nothing.
func watchSender(ctx context.Context, left func()) {
	conn, _ := ctx.Value(connKey{}).(net.Conn)
	if below, ok := conn.(interface{ NetConn() net.Conn }); ok { // TLS
		conn = below.NetConn()
	}
	tcp, ok := conn.(*net.TCPConn)
	if !ok {
		return
	}
	raw, err := tcp.SyscallConn()
	if err != nil {
		return
	}
	look := time.NewTicker(lookEvery)
	defer look.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-look.C:
		}
		gone := false
		if err := raw.Control(func(fd uintptr) { gone = hungUp(fd) }); err != nil || gone {
			left()
			return
		}
	}
}
