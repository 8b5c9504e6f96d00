package predicate

import (
	"encoding/binary"
	"math"
	"math/bits"
	"slices"
	"strings"

	"drillwright/rules/client"
)

// Tags are what one row of a drill says, by slot: a number that isn't stated is NaN.
type Tags struct {
	Num  []float64
	Bool []bool
	Set  [][]string
}

// Row is the tags of one row of a drill, packed: of all numbers a drill states few, and most of its lists are those of
// other drills too. A catalogue of ten thousand drills so stays in a few megabytes, which is most of what makes a
// closure quick.
type Row struct {
	of *rows
	at int32
}

// rows holds the rows of a catalogue side by side.
type rows struct {
	numberWords, boolWords, lists int // of one row

	stated  []uint64  // which numbers a row states
	before  []uint32  // for each word of stated: where its numbers begin
	numbers indexList // of each stated number, in values
	yes     []uint64
	sets    indexList // of each list, in words

	values []float64
	words  [][]string
}

// indexList are numbers that are nearly always below 65,536: what lies above stands apart, where there is any.
type indexList struct{ low, high []uint16 }

func (p *indexList) add(v uint32) {
	if v > 1<<16-1 && p.high == nil {
		p.high = make([]uint16, len(p.low))
	}
	p.low = append(p.low, uint16(v))
	if p.high != nil {
		p.high = append(p.high, uint16(v>>16))
	}
}

func (p *indexList) at(i int) int {
	if p.high != nil {
		return int(p.low[i]) | int(p.high[i])<<16
	}
	return int(p.low[i])
}

// Packer packs rows that have the same slots.
type Packer struct {
	rows   *rows
	values map[float64]uint32 // indexes
	words  map[string]uint32
}

// NewPacker makes a packer for rows with so many numbers, yes-or-nos and lists.
func NewPacker(numbers, bools, lists int) *Packer {
	r := &rows{numberWords: (numbers + 63) / 64, boolWords: (bools + 63) / 64, lists: lists, words: [][]string{nil}}
	return &Packer{rows: r, values: map[float64]uint32{}, words: map[string]uint32{"": 0}}
}

// Add packs one row.
func (p *Packer) Add(t Tags) *Row {
	r := p.rows
	row := &Row{of: r, at: int32(len(r.sets.low))}
	if r.lists > 0 {
		row.at /= int32(r.lists)
	} else if r.numberWords > 0 {
		row.at = int32(len(r.stated) / r.numberWords)
	}
	for w := range r.numberWords {
		r.before = append(r.before, uint32(len(r.numbers.low)))
		stated := uint64(0)
		for slot := w * 64; slot < min(len(t.Num), w*64+64); slot++ {
			if v := t.Num[slot]; v == v {
				stated |= 1 << (slot - w*64)
				r.numbers.add(p.value(v))
			}
		}
		r.stated = append(r.stated, stated)
	}
	for w := range r.boolWords {
		yes := uint64(0)
		for slot := w * 64; slot < min(len(t.Bool), w*64+64); slot++ {
			if t.Bool[slot] {
				yes |= 1 << (slot - w*64)
			}
		}
		r.yes = append(r.yes, yes)
	}
	for _, list := range t.Set {
		r.sets.add(p.place(list))
	}
	return row
}

// Done gives back what growing has left over. Nothing is added afterwards.
func (p *Packer) Done() {
	r := p.rows
	r.stated, r.before, r.yes, r.values, r.words = slices.Clone(r.stated), slices.Clone(r.before), slices.Clone(r.yes), slices.Clone(r.values),
		slices.Clone(r.words)
	for _, p := range []*indexList{&r.numbers, &r.sets} {
		p.low, p.high = slices.Clone(p.low), slices.Clone(p.high)
	}
}

func (p *Packer) value(v float64) uint32 {
	index, ok := p.values[v]
	if !ok {
		index = uint32(len(p.rows.values))
		p.values[v] = index
		p.rows.values = append(p.rows.values, v)
	}
	return index
}

func (p *Packer) place(list []string) uint32 {
	key := strings.Join(list, "\x00")
	if len(list) == 1 && key == "" {
		key = "\x00" // a list of one empty word isn't an empty list
	}
	index, ok := p.words[key]
	if !ok {
		index = uint32(len(p.rows.words))
		p.words[key] = index
		p.rows.words = append(p.rows.words, list)
	}
	return index
}

// Pack packs a single row.
func Pack(t Tags) *Row { return NewPacker(len(t.Num), len(t.Bool), len(t.Set)).Add(t) }

// states is whether the row states a number.
func (r *Row) states(slot int) bool {
	return r.of.stated[int(r.at)*r.of.numberWords+slot>>6]>>(slot&63)&1 != 0
}

// Number is a number of the row; NaN when it isn't stated.
func (r *Row) Number(slot int) float64 {
	of := r.of
	w := int(r.at)*of.numberWords + slot>>6
	stated := of.stated[w]
	if stated>>(slot&63)&1 == 0 {
		return notStated
	}
	return of.values[of.numbers.at(int(of.before[w])+bits.OnesCount64(stated&(1<<(slot&63)-1)))]
}

var notStated = math.NaN()

// Yes is a yes-or-no of the row.
func (r *Row) Yes(slot int) bool {
	return r.of.yes[int(r.at)*r.of.boolWords+slot>>6]>>(slot&63)&1 != 0
}

// Words is a list of the row. It is shared, and not to be changed.
func (r *Row) Words(slot int) []string {
	return r.of.words[r.of.sets.at(int(r.at)*r.of.lists+slot)]
}

// AppendValue appends what tells the row's value of a drill's path from other values in the same rows.
func (r *Row) AppendValue(b []byte, ref *Ref) []byte {
	switch ref.Kind {
	case client.Number:
		if !r.states(ref.Slot) {
			return append(b, 0)
		}
		return binary.LittleEndian.AppendUint64(append(b, 1), math.Float64bits(r.Number(ref.Slot)))
	case client.Bool:
		if r.Yes(ref.Slot) {
			return append(b, 1)
		}
		return append(b, 0)
	}
	return binary.LittleEndian.AppendUint32(b, uint32(r.of.sets.at(int(r.at)*r.of.lists+ref.Slot)))
}

// Tags spreads the row out again.
func (r *Row) Tags() Tags {
	t := Tags{make([]float64, r.of.numberWords*64), make([]bool, r.of.boolWords*64), make([][]string, r.of.lists)}
	for i := range t.Num {
		t.Num[i] = r.Number(i)
	}
	for i := range t.Bool {
		t.Bool[i] = r.Yes(i)
	}
	for i := range t.Set {
		t.Set[i] = r.Words(i)
	}
	return t
}
