package condition

import (
	"iter"
	"math/bits"
	"sync/atomic"

	"drillwright/rules/client"
)

// maxMembers is how many members of an unrolled any are remembered in one word.
const maxMembers = 64

// Members remembers, for one request and side, which members of each unrolled any can hold at all by what they ask of
// the client alone: of forty motions, those of the sore region; of nine regions, the sore one. Two anys that share a
// place only forget each other.
type Members struct {
	places [256]struct {
		of    *Node
		round uint32
		live  uint64
	}
	round uint32
}

// Begin forgets what was remembered.
func (m *Members) Begin() { m.round++ }

// members are what an unrolled any knows of its members.
type members struct {
	place uint32  // among all anys
	needs []need  // what each needs of the drill
	alone []*Node // what each asks of the client alone; nil when nothing
}

// anys numbers the unrolled anys as they are made.
var anys atomic.Uint32

// anyMember is an unrolled any over few enough members.
func (n *Node) anyMember(kids []truthFunc, needs []need) truthFunc {
	n.members = &members{anys.Add(1), needs, make([]*Node, len(kids))}
	for i, k := range n.Kids {
		n.members.alone[i] = k.WithoutDrill()
	}
	return func(r *Reading) client.Truth {
		if r.Only >= 0 {
			return kids[r.Only](r)
		}
		t := client.No
		for live := r.live(n); live != 0; live &= live - 1 {
			i := bits.TrailingZeros64(live)
			if !needs[i].met(r.Drill) {
				continue
			}
			if t = either(t, kids[i](r)); t.Sure {
				break
			}
		}
		return t
	}
}

// live is which members can hold by what they ask of the client alone.
func (r *Reading) live(n *Node) uint64 {
	if r.members == nil {
		return 1<<(len(n.members.alone)%maxMembers) - 1 | -uint64(len(n.members.alone)/maxMembers)
	}
	had := &r.members.places[n.members.place%uint32(len(r.members.places))]
	if had.of != n || had.round != r.members.round {
		live := uint64(0)
		for i, a := range n.members.alone {
			if a == nil || a.truth(r).Possible {
				live |= 1 << i
			}
		}
		had.of, had.round, had.live = n, r.members.round, live
	}
	return had.live
}

// Members yields the members of an unrolled any that can hold, by their places.
func (r *Reading) Members(n *Node) iter.Seq[int] {
	return func(yield func(int) bool) {
		for i, kid := range n.Kids {
			if n.members != nil && (r.live(n)>>i&1 == 0 || !n.members.needs[i].met(r.Drill)) {
				continue
			}
			if kid.truth(r).Possible && !yield(i) {
				return
			}
		}
	}
}
