package predicate

import (
	"iter"
	"math/bits"
	"sync/atomic"

	"drillwright/rules/client"
)

// maxMembers is how many members of an unrolled any are remembered in one word.
const maxMembers = 64

// Members remembers, for one request and side, which members of each unrolled any can hold at all by what they ask of
// the client alone: of forty motions, those of the sore region; of nine regions, the sore one. Only members that a drill
// leaves are asked. Two anys that share a place only forget each other.
type Members struct {
	places [256]struct {
		of    *Node
		round uint32
		asked uint64
		live  uint64 // of those asked
	}
	round uint32
}

// Begin forgets what was remembered.
func (m *Members) Begin() { m.round++ }

// members are what an unrolled any knows of its members.
type members struct {
	place    uint32     // among all anys
	needs    []need     // what each needs of the drill
	stated   []statedIn // where each needs a number of its own: finds all that a row states at once
	byClient []*Node    // what each asks of the client alone; nil when nothing
	asks     bool       // some ask something
}

// anys numbers the unrolled anys as they are made.
var anys atomic.Uint32

// anyMember is an unrolled any over few enough members.
func (n *Node) anyMember(kids []truthFunc, needs []need) truthFunc {
	n.members = &members{place: anys.Add(1), needs: needs, stated: statedBy(needs), byClient: make([]*Node, len(kids))}
	for i, k := range n.Kids {
		n.members.byClient[i] = k.WithoutDrill()
		n.members.asks = n.members.asks || n.members.byClient[i] != nil
	}
	return func(r *Reading) client.Truth {
		if r.Only >= 0 {
			return kids[r.Only](r)
		}
		t := client.No
		for could := r.could(n); could != 0; could &= could - 1 {
			if t = either(t, kids[bits.TrailingZeros64(could)](r)); t.Sure {
				break
			}
		}
		return t
	}
}

// could is which members can hold by what they need of the drill and what they ask of the client alone.
func (r *Reading) could(n *Node) uint64 {
	m := n.members
	if m.stated != nil {
		met := uint64(0)
		for i := range m.stated {
			met |= m.stated[i].by(r.Drill)
		}
		return r.live(n, met)
	}
	met := r.live(n, 1<<(len(m.needs)%maxMembers)-1|-uint64(len(m.needs)/maxMembers))
	for live := met; live != 0; live &= live - 1 {
		if i := bits.TrailingZeros64(live); !m.needs[i].met(r.Drill) {
			met &^= 1 << i
		}
	}
	return met
}

// live is which of some members can hold by what they ask of the client alone.
func (r *Reading) live(n *Node, of uint64) uint64 {
	if of == 0 || r.members == nil || !n.members.asks {
		return of
	}
	had, asked, live := &r.members.places[n.members.place%uint32(len(r.members.places))], uint64(0), uint64(0)
	if had.of == n && had.round == r.members.round {
		asked, live = had.asked, had.live
	}
	if ask := of &^ asked; ask != 0 {
		for ; ask != 0; ask &= ask - 1 {
			i := bits.TrailingZeros64(ask)
			if a := n.members.byClient[i]; a == nil || a.truth(r).Possible { // which may look into an any of its own
				live |= 1 << i
			}
		}
		had.of, had.round, had.asked, had.live = n, r.members.round, asked|of, live
	}
	return live & of
}

// Members yields the members of an unrolled any that can hold, by their indexes.
func (r *Reading) Members(n *Node) iter.Seq[int] {
	return func(yield func(int) bool) {
		could := ^uint64(0)
		if n.members != nil {
			could = r.could(n)
		}
		for i, kid := range n.Kids {
			if could>>(i%maxMembers)&1 == 0 {
				continue
			}
			if kid.truth(r).Possible && !yield(i) {
				return
			}
		}
	}
}
