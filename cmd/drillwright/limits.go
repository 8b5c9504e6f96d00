package main

import (
	"time"

	"github.com/spf13/pflag"
)

// limitFlags are the flags that bound what callers can make the server hold and do.
func (f *serving) limitFlags(flags *pflag.FlagSet) {
	l := &f.limits
	flags.Var(byteCount{&l.Message, 64 << 10}, "max-message", "refuse a message, or an answer, of more than `SIZE`")
	flags.Var(number{&l.Streams, 1}, "max-streams", "at most `N` calls at once on one connection")
	flags.Var(number{&l.Calls, 1}, "max-calls", "at most `N` calls at once in all, health and reflection aside; refuse others at once")
	flags.Var(span{&l.Call, time.Second}, "call-limit", "end a call after `TIME`, whatever its deadline; on the rulebook after 12 times that")
	flags.Var(span{&l.Handshake, time.Second}, "handshake-limit", "end a new connection that doesn't speak HTTP/2 within `TIME`")
	flags.Var(span{&l.PingAfter, time.Second}, "ping-after", "ask on a connection that was silent for `TIME` whether its other end is there")
	flags.Var(span{&l.PingTimeout, time.Second}, "ping-timeout", "end a connection whose other end answers or takes nothing for `TIME`")
	flags.Var(span{&l.PingEvery, time.Second}, "min-ping", "end a connection whose client pings more often than each `TIME`")
	flags.Var(span{&l.Age, time.Minute}, "connection-age", "let clients connect anew after `TIME`, give or take a tenth")
	flags.Var(span{&l.AgeGrace, time.Second}, "connection-grace", "let the calls of a connection that is too old go on for `TIME`")
	flags.Var(span{&f.stopWithin, time.Second}, "stop-within", "let calls go on for `TIME` when the server is told to stop")
}
