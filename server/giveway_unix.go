//go:build unix && !linux

package server

import "golang.org/x/sys/unix"

// giveWay lets this process run where little else wants to.
func giveWay() error { return unix.Setpriority(unix.PRIO_PROCESS, 0, 19) }
