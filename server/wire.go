package server

import (
	"encoding/binary"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"google.golang.org/grpc/mem"
	"google.golang.org/protobuf/encoding/protowire"
)

// wire is what is left of a message's bytes. A question is read from them in one walk, without the message that proto.Unmarshal would
// make of it: its maps and its hundreds of messages within messages take longer than the answer. Texts are parts of one text.
type wire struct {
	left string
	bad  bool // what was read last isn't there, or is none
}

func (w *wire) more() bool { return len(w.left) > 0 && !w.bad }

func (w *wire) fail() { w.left, w.bad = "", true }

func (w *wire) varint() uint64 {
	if len(w.left) > 0 && w.left[0] < 0x80 {
		v := w.left[0]
		w.left = w.left[1:]
		return uint64(v)
	}
	return w.longVarint()
}

func (w *wire) longVarint() uint64 {
	var first [binary.MaxVarintLen64]byte
	v, n := protowire.ConsumeVarint(first[:copy(first[:], w.left)])
	if n < 0 {
		w.fail()
		return 0
	}
	w.left = w.left[n:]
	return v
}

func (w *wire) double() float64 {
	if len(w.left) < 8 {
		w.fail()
		return 0
	}
	var eight [8]byte
	copy(eight[:], w.left)
	w.left = w.left[8:]
	return math.Float64frombits(binary.LittleEndian.Uint64(eight[:]))
}

func (w *wire) bytes() string {
	n := w.varint()
	if n > uint64(len(w.left)) {
		w.fail()
		return ""
	}
	part := w.left[:n]
	w.left = w.left[n:]
	return part
}

func (w *wire) string() string {
	text := w.bytes()
	if !utf8.ValidString(text) {
		w.fail()
	}
	return text
}

func (w *wire) message() wire {
	part := w.bytes()
	return wire{left: part, bad: w.bad}
}

// key is that of an entry of a map, and goes on to its value, whose tag is given: they are read where they come in this order.
func (w *wire) key(value uint64) string {
	if w.varint() != 1<<3|uint64(protowire.BytesType) {
		w.fail()
	}
	key := w.string()
	if w.varint() != value {
		w.fail()
	}
	return key
}

// entry is an entry whose value is a message.
func (w *wire) entry() (key string, value wire) {
	in := w.message()
	key = in.key(2<<3 | uint64(protowire.BytesType))
	value = in.message()
	value.bad = in.bad || in.more()
	return key, value
}

// entry is an entry of a map.
type entry[V any] struct {
	key   string
	value V
}

// inOrder are the entries of a map in order of their keys.
func inOrder[V any](out []entry[V], m map[string]V) []entry[V] {
	for key, value := range m {
		out = append(out, entry[V]{key, value})
	}
	sortEntries(out)
	return out
}

// sortEntries is false where a key stands twice.
func sortEntries[V any](list []entry[V]) bool {
	slices.SortFunc(list, func(a, b entry[V]) int { return strings.Compare(a.key, b.key) })
	for i := 1; i < len(list); i++ {
		if list[i].key == list[i-1].key {
			return false
		}
	}
	return true
}

// slab is where values of one type are until all are done with.
type slab[T any] struct{ list []T }

// next is a value that is zero.
func (s *slab[T]) next() *T {
	if len(s.list) == cap(s.list) {
		s.list = make([]T, 0, 2*cap(s.list)+4) // what was given out stays where it is
	}
	s.list = s.list[:len(s.list)+1]
	return &s.list[len(s.list)-1]
}

func (s *slab[T]) keep(v T) *T {
	p := s.next()
	*p = v
	return p
}

func (s *slab[T]) empty() { s.list = emptied(s.list) }

func textOf(data mem.BufferSlice) string {
	var text strings.Builder
	text.Grow(data.Len())
	for _, part := range data {
		text.Write(part.ReadOnlyData())
	}
	return text.String()
}

// fromWire reads a question from its bytes, and is true where they say what m can say, in the way of most writers, and all that they
// say keeps the contract's limits and the calendar. m then has all but the client, whom the reader has. Otherwise nothing is said of
// the question: proto.Unmarshal and the library's walk over the limits find what is wrong with it, if anything.
func (r *reader) fromWire(m asking, text string) bool {
	if !r.wireQuestion(wire{left: text}, m) || !r.entries.sort() || !withinLimits(m, &r.entries) {
		return false
	}
	r.toRequest(m)
	withoutClient(m)
	return len(r.list) == 0
}
