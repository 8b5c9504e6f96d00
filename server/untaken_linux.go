package server

import (
	"net"
	"time"

	"golang.org/x/sys/unix"
)

// endUntaken lets the system end a connection whose other end has taken nothing for so long of what was sent.
func endUntaken(conn *net.TCPConn, within time.Duration) {
	raw, err := conn.SyscallConn()
	if err != nil {
		return // it has ended
	}
	raw.Control(func(fd uintptr) {
		unix.SetsockoptInt(int(fd), unix.IPPROTO_TCP, unix.TCP_USER_TIMEOUT, int(within/time.Millisecond))
	})
}
