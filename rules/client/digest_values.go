package client

import (
	"encoding/binary"
	"math"
)

func appendBool(b []byte, v bool) []byte {
	if v {
		return append(b, 1)
	}
	return append(b, 0)
}

func appendInt(b []byte, v int) []byte { return binary.AppendVarint(b, int64(v)) }

func appendLen(b []byte, n int) []byte { return binary.AppendUvarint(b, uint64(n)) }

func appendText(b []byte, s string) []byte { return append(appendLen(b, len(s)), s...) }

// appendAgain is for a text that is mostly the same as in the item before: 0 stands for that, else the length is one
// more.
func appendAgain(b []byte, before, s string) []byte {
	if s == before {
		return append(b, 0)
	}
	return append(appendLen(b, len(s)+1), s...)
}

// appendNumber writes the bits; −0 is 0.
func appendNumber(b []byte, v float64) []byte {
	if v == 0 {
		v = 0
	}
	return binary.BigEndian.AppendUint64(b, math.Float64bits(v))
}

// appendSide is one byte for the sides there are.
func appendSide(b []byte, s Side) []byte {
	switch s {
	case SideNone:
		return append(b, 0)
	case SideLeft:
		return append(b, 1)
	case SideRight:
		return append(b, 2)
	case SideBoth:
		return append(b, 3)
	default:
		return appendText(append(b, 4), string(s))
	}
}

func appendMaybeInt(b []byte, v *int) []byte {
	if v == nil {
		return append(b, 0)
	}
	return appendInt(append(b, 1), *v)
}

func appendMaybeNumber(b []byte, v *float64) []byte {
	if v == nil {
		return append(b, 0)
	}
	return appendNumber(append(b, 1), *v)
}

func appendMaybeBool(b []byte, v *bool) []byte {
	if v == nil {
		return append(b, 0)
	}
	return appendBool(append(b, 1), *v)
}

func appendTexts(b []byte, list []string) []byte {
	b = appendLen(b, len(list))
	for _, s := range list {
		b = appendText(b, s)
	}
	return b
}
