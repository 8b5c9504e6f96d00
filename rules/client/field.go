package client

import "strconv"

// field is where a value stands in a request. It is spelled out only when something is wrong there, so it holds the
// parts: an entry of a map has a key, an item of a list an index.
type field struct {
	in    *field // nil at the top
	name  string
	form  form
	key   string
	index int
}

type form uint8

const (
	plain form = iota
	keyed
	numbered
)

func (f *field) appendTo(b []byte) []byte {
	if f == nil {
		return b
	}
	b = append(f.in.appendTo(b), f.name...)
	switch f.form {
	case keyed:
		b = append(strconv.AppendQuote(append(b, '['), f.key), ']')
	case numbered:
		b = append(strconv.AppendInt(append(b, '['), int64(f.index), 10), ']')
	}
	return b
}

// entriesOf is the field of a map's entries: profile.pain["shoulder"].
func entriesOf(name string) field { return field{name: name, form: keyed} }

// itemsOf is the field of a list's items: profile.disliked[2].
func itemsOf(name string) field { return field{name: name, form: numbered} }

// sideKey is what the contract calls a side within an entry.
func sideKey(s Side) string {
	switch s {
	case SideLeft:
		return ".left"
	case SideRight:
		return ".right"
	default:
		return ".midline"
	}
}
