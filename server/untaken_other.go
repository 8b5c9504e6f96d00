//go:build !linux

package server

import (
	"net"
	"time"
)

func endUntaken(*net.TCPConn, time.Duration) {}
