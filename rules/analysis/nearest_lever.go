package analysis

import (
	"math"
	"slices"
	"strings"

	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// leverKey is one thing that can be told of a client: a fact on a side of the body (0 where it has none); of a list, one
// member.
type leverKey struct {
	path string
	side int
	word string
}

// lever is what a search knows of it.
type lever struct {
	leverKey
	of    *client.Path
	id    string // what follows the prefix of its telling
	how   *reporting
	atoms []occurrence

	free     bool     // it may be told otherwise
	frozen   bool     // it has been
	isolated bool     // telling it changes this fact and no other that is read
	sole     bool     // and every atom that it bears on hangs on it alone
	joint    []string // the sums with other levers that comparisons read it in
	known    bool
	was      Value
	from     float64 // what distances are measured from
}

// occurrence is an atom that a lever bears on, by one path that the atom reads.
type occurrence struct {
	constraint *constraint
	ref        *predicate.Ref
}

// leverIndex is the index of a lever; a new one is put at the end.
func (n *nearest) leverIndex(key leverKey, f *client.Facts) int {
	if index, ok := n.indexOf[key]; ok {
		return index
	}
	k := &lever{leverKey: key, of: n.e.Frame.Table.Path(key.path)}
	k.how, k.id = reportingOf(key.path)
	k.known = f.StatusOf(k.path, k.side) == client.Measured
	k.free = k.how != nil && (n.mayChange == nil || n.mayChange(k.of, k.side, k.known))
	index := len(n.levers)
	n.indexOf[key], n.levers = index, append(n.levers, k)
	return index
}

// settle works out what today's client says, once every atom is known.
func (n *nearest) settle(index int, f *client.Facts) {
	k := n.levers[index]
	k.free = k.free && !(n.rising && k.known && n.beside(k))
	k.isolated = k.how != nil && (k.how.isolated || k.path == "client.kit" && n.rising) &&
		!slices.ContainsFunc(k.atoms, func(b occurrence) bool {
			return b.ref.Name != k.path && !k.carries(b)
		})
	k.sole = k.isolated && n.group(k) == "" && !slices.ContainsFunc(k.atoms, func(b occurrence) bool { return len(b.constraint.levers) > 1 })
	k.was = n.today(k, f)
	k.was.Unknown = k.was.Unknown || !k.known
	k.from = k.was.Number
	if k.of.Kind == client.Number && !f.StatusOf(k.path, k.side).Known() || k.was.None {
		k.from = k.of.Lo
		if usual, ok := defaultOrigin[k.path]; ok {
			k.from = usual
		}
	}
}

// carries is true of what is worked out from a range alone: its margin, and what it is short of the other side.
func (k *lever) carries(b occurrence) bool {
	motion, ok := strings.CutPrefix(k.path, "client.range.")
	return ok && b.constraint.op == predicate.Compare && (b.ref.Name == "client.margin."+motion || b.ref.Name == "client.gap.range."+motion)
}

// beside is true of a measure that counts only beside that of the other side: nobody trains one side to make the other
// short of it.
func (n *nearest) beside(k *lever) bool {
	return k.of.Sided && !slices.ContainsFunc(k.atoms, func(b occurrence) bool { return n.readings[b.constraint.reading].Side == k.side })
}

// reports is whether a client, as they are now, has told a value already.
func (k *lever) reports(v Value, f *client.Facts) bool {
	return v == k.was && f.StatusOf(k.path, k.side) == client.Measured
}

// defaultOrigin is where the distance to a number is measured from when nobody told it; elsewhere it is the least.
var defaultOrigin = map[string]float64{
	"client.age_years": 35, "client.body_mass_kg": 75, "client.blood_pressure.systolic": 120, "client.blood_pressure.diastolic": 80,
	"client.confidence": 5, "client.programme_week": 1, "request.minutes": 60,
}

func (n *nearest) today(k *lever, f *client.Facts) Value {
	switch {
	case k.path == "client.conditions":
		return n.conditionToday(k)
	case k.of.Kind == client.Number:
		s := f.Number(k.path, k.side)
		if math.IsNaN(s.Lo) {
			return Value{None: true}
		}
		return Value{Unknown: !s.Known(), Number: s.Lo}
	case k.of.Kind == client.Bool:
		t := f.Truth(k.path, k.side)
		return Value{Unknown: t == client.Maybe, Yes: t.Sure}
	case k.of.Kind == client.Word:
		if s := f.Words(k.path, k.side); len(s.Sure) == 1 {
			return Value{Word: s.Sure[0]}
		}
		return Value{Unknown: true}
	}
	s := f.Words(k.path, k.side)
	in := slices.Contains(s.Sure, k.word)
	return Value{Yes: in, Unknown: !in && slices.Contains(s.Possible, k.word)}
}

func (n *nearest) conditionToday(k *lever) Value {
	p := n.Request.Profile
	for i := range p.Conditions {
		if c := &p.Conditions[i]; c.ID == k.word && c.Side.On(k.side) {
			return Value{Yes: true, Word: reportedBy(c)}
		}
	}
	return Value{Unknown: !p.ConditionsTold}
}

// reportedBy is who told of a condition, or PAST.
func reportedBy(c *client.Condition) string {
	switch {
	case c.Status == "PAST":
		return c.Status
	case c.ToldBy == "CLINICIAN":
		return c.ToldBy
	}
	return "CLIENT"
}

func (k *lever) edit(to Value) Edit {
	e := Edit{Path: k.of, Word: k.word, Was: k.was, To: to}
	if k.of.Sided {
		e.Side = client.Sides[k.side]
	}
	return e
}

// size of a change.
func (k *lever) size(to Value) float64 {
	if k.of.Kind != client.Number || to.None {
		return 1
	}
	return math.Abs(to.Number-k.from) / (k.of.Hi - k.of.Lo)
}

// write puts a value into the facts as they stand, and returns what puts back what was there. It is for isolated levers.
func (n *nearest) write(k *lever, f *client.Facts, v Value) (back func()) {
	if k.of.Kind == client.Number {
		number, status := n.probe(k, f, v.Number), k.reportStatus(f)
		return func() { number(); status() }
	}
	slot := k.of.Slot
	truths, sets := [2]client.Truth{f.Bool[0][at(k.of, client.Bool)], f.Bool[1][at(k.of, client.Bool)]},
		[2]client.Set{f.Set[0][at(k.of, client.List)], f.Set[1][at(k.of, client.List)]}
	status := k.reportStatus(f)
	for s := range 2 {
		switch {
		case s != k.side && k.of.Sided:
		case k.of.Kind == client.Bool:
			f.Bool[s][slot] = client.Truth{Sure: v.Yes, Possible: v.Yes}
		case k.of.Kind == client.Word:
			f.Set[s][slot] = client.Set{Sure: []string{v.Word}, Possible: []string{v.Word}}
		default:
			f.Set[s][slot] = with(sets[s], n.counting(k), v.Yes)
		}
	}
	return func() {
		status()
		for s := range 2 {
			f.Bool[s][at(k.of, client.Bool)], f.Set[s][at(k.of, client.List)] = truths[s], sets[s]
		}
	}
}

// at is the slot of a path among the facts of its kind; of others, the first.
func at(p *client.Path, kind client.Kind) int {
	if p.Kind == kind || kind == client.List && p.Kind == client.Word {
		return p.Slot
	}
	return 0
}

// reportStatus marks a fact as told.
func (k *lever) reportStatus(f *client.Facts) (back func()) {
	index := f.Frame.Table.Index(k.of)
	was := [2]client.Status{f.Status[0][index], f.Status[1][index]}
	for s := range 2 {
		if s == k.side || !k.of.Sided {
			f.Status[s][index] = client.Measured
		}
	}
	return func() { f.Status[0][index], f.Status[1][index] = was[0], was[1] }
}

// counting is a member of a list, and of kit what it counts as.
func (n *nearest) counting(k *lever) []string {
	words := []string{k.word}
	if k.path == "client.kit" {
		words = append(words, n.e.Frame.Vocabulary.Kit[n.e.Frame.Vocabulary.Index("kit", k.word)].CountsAs...)
	}
	return words
}

// with is a known list with or without some words.
func with(s client.Set, words []string, in bool) client.Set {
	list := slices.DeleteFunc(slices.Clone(s.Sure), func(w string) bool { return slices.Contains(words, w) })
	if in {
		list = append(list, words...)
		slices.Sort(list)
	}
	return client.Set{Sure: list, Possible: list}
}
