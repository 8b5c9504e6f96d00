package client

import (
	"crypto/sha256"
	"encoding/hex"
	"hash"
	"sync"
)

// Digest is SHA-256 over our own canonical form of what was asked, its first half in hex: the question, which is
// whatever of it the request doesn't hold, and the request, with its lists as Canonical orders them and without what nothing reads
// (digest: in the table). A nil list is an empty one.
func (q *Request) Digest(question ...string) string {
	q = q.Canonical()
	c := canonicals.Get().(*canonical)
	c.asOf = q.AsOf
	c.sum.Write(c.appendRequest(appendTexts(c.scratch[:0], question), q))
	text := hex.EncodeToString(c.sum.Sum(c.scratch[:0])[:16])
	c.sum.Reset()
	clear(c.scratch[:])
	canonicals.Put(c)
	return text
}

var canonicals = sync.Pool{New: func() any { return &canonical{sum: sha256.New()} }}

// canonical writes every field that is read in the order in which its type declares it, after the question.
// Nothing names a field, so each value tells where it ends: texts and lists begin with their length, and
// what may be absent with 0 or 1.
type canonical struct {
	asOf    Day
	sum     hash.Hash
	scratch [1 << 10]byte // for what isn't summed up yet
}

// passed hands on what was written, before it outgrows its room.
func (c *canonical) passed(b []byte) []byte {
	if len(b) < 768 {
		return b
	}
	c.sum.Write(b)
	return b[:0]
}

// day counts back from the day of the request: that is short.
func (c *canonical) day(b []byte, d Day) []byte { return appendInt(b, int(c.asOf-d)) }
