package rules

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"drillwright/rules/client"
	"drillwright/rules/condition"
)

// knobKey is one thing that can be told of a client: a fact on a side of the body (0 where it has none); of a list, one
// member.
type knobKey struct {
	path string
	side int
	word string
}

// knob is what a search knows of it.
type knob struct {
	knobKey
	of    *client.Path
	id    string // what follows the prefix of its telling
	how   *telling
	atoms []bearing

	free   bool     // it may be told otherwise
	frozen bool     // it has been
	plain  bool     // telling it changes this fact and no other that is read
	alone  bool     // and every atom that it bears on hangs on it alone
	joint  []string // the sums with other knobs that comparisons read it in
	known  bool
	was    Value
	from   float64 // what distances are measured from
}

// bearing is an atom that a knob bears on, by one path that the atom reads.
type bearing struct {
	want *want
	ref  *condition.Ref
}

// place is the place of a knob; a new one is put at the end.
func (n *nearest) place(key knobKey, f *client.Facts) int {
	if place, ok := n.places[key]; ok {
		return place
	}
	k := &knob{knobKey: key, of: n.e.Frame.Table.Path(key.path)}
	k.how, k.id = tellingOf(key.path)
	k.known = f.StatusOf(k.path, k.side) == client.Measured
	k.free = k.how != nil && (n.May == nil || n.May(k.of, k.side, k.known))
	place := len(n.knobs)
	n.places[key], n.knobs = place, append(n.knobs, k)
	return place
}

// bear finds the knobs that bear on an atom.
func (n *nearest) bear(w *want) {
	n.atoms = append(n.atoms, w)
	rd := &n.readings[w.reading]
	numbers := outs{}
	w.atom.OwnRefs(func(r *condition.Ref) {
		if r.Root != condition.OfFacts || r.Name == "side" {
			return
		}
		if r.Kind == client.List && !n.may(r.Path, rd) {
			return
		}
		keys := n.bearers(r, rd, w.atom)
		w.opaque = w.opaque || len(keys) == 0
		for _, key := range keys {
			place := n.place(key, rd.Facts)
			k := n.knobs[place]
			if !k.free {
				continue
			}
			k.atoms = append(k.atoms, bearing{w, r})
			w.knobs = append(w.knobs, place)
			if r.Kind == client.Number {
				numbers = append(numbers, place)
			}
		}
	})
	slices.Sort(w.knobs)
	w.knobs = slices.Compact(w.knobs)
	slices.Sort(numbers)
	if numbers = slices.Compact(numbers); len(numbers) > 1 && w.op == condition.Compare {
		for _, place := range numbers {
			if k := n.knobs[place]; !slices.Contains(k.joint, sumOf(w.atom)) {
				k.joint = append(k.joint, sumOf(w.atom))
			}
		}
	}
	w.opaque = w.opaque || w.op == condition.Compare && (chooses(w.atom.L) || chooses(w.atom.R))
}

// sumOf tells the sum of facts that a comparison holds against a threshold from other sums. A gap in degrees is the
// difference of its sides; one in percent is no sum, and each comparison with it stands for itself.
func sumOf(c *condition.Node) string {
	sum := map[string]float64{}
	add := func(name string, times float64) {
		gap, ok := strings.CutPrefix(name, "client.gap.")
		switch {
		case !ok:
			sum[name] += times
		case strings.HasPrefix(gap, "range."):
			sum[gap+" this side"] -= times
			sum[gap+" other side"] += times
		default:
			sum[name+" in "+c.Text] += times
		}
	}
	var walk func(m *condition.Num, times float64)
	walk = func(m *condition.Num, times float64) {
		switch {
		case m == nil:
		case m.Op == condition.Value && m.Ref.Root == condition.OfFacts:
			add(m.Ref.Name, times)
		case m.Op == condition.Mul:
			walk(m.L, times*m.K)
		case m.Op == condition.Neg:
			walk(m.L, -times)
		case m.Op == condition.Sub:
			walk(m.L, times)
			walk(m.R, -times)
		default:
			walk(m.L, times)
			walk(m.R, times)
		}
	}
	walk(c.L, 1)
	walk(c.R, -1)
	names := slices.Sorted(maps.Keys(sum))
	text := ""
	for _, name := range names {
		text += fmt.Sprintf("%g %s, ", sum[name]/sum[names[0]], name)
	}
	return text
}

// may is whether a list may be told otherwise: finding its members is dear.
func (n *nearest) may(p *client.Path, rd *condition.Reading) bool {
	if ofConditions(p) {
		p = n.e.Frame.Table.Path("client.conditions")
	}
	side := rd.Side
	if !p.Sided {
		side = 0
	}
	return n.May == nil || n.May(p, side, rd.Facts.StatusOf(p.Name, side) == client.Measured)
}

// ofConditions is true of the lists that what is told of conditions fills.
func ofConditions(p *client.Path) bool {
	return strings.HasPrefix(p.Name, "client.conditions") || p.Name == "client.past_conditions"
}

// settle works out what today's client says, once every atom is known.
func (n *nearest) settle(place int, f *client.Facts) {
	k := n.knobs[place]
	k.free = k.free && !(n.Rising && k.known && n.beside(k))
	k.plain = k.how != nil && (k.how.plain || k.path == "client.kit" && n.Rising) && !slices.ContainsFunc(k.atoms, func(b bearing) bool {
		return b.ref.Name != k.path && !k.carries(b)
	})
	k.alone = k.plain && n.group(k) == "" && !slices.ContainsFunc(k.atoms, func(b bearing) bool { return len(b.want.knobs) > 1 })
	k.was = n.today(k, f)
	k.was.Unknown = k.was.Unknown || !k.known
	k.from = k.was.Number
	if k.of.Kind == client.Number && !f.StatusOf(k.path, k.side).Known() || k.was.None {
		k.from = k.of.Lo
		if usual, ok := usually[k.path]; ok {
			k.from = usual
		}
	}
}

// carries is true of what is worked out from a range alone: its margin, and what it is short of the other side.
func (k *knob) carries(b bearing) bool {
	motion, ok := strings.CutPrefix(k.path, "client.range.")
	return ok && b.want.op == condition.Compare && (b.ref.Name == "client.margin."+motion || b.ref.Name == "client.gap.range."+motion)
}

// beside is true of a measure that counts only beside that of the other side: nobody trains one side to make the other
// short of it.
func (n *nearest) beside(k *knob) bool {
	return k.of.Sided && !slices.ContainsFunc(k.atoms, func(b bearing) bool { return n.readings[b.want.reading].Side == k.side })
}

// said is whether a client, as they are now, has told a value already.
func (k *knob) said(v Value, f *client.Facts) bool {
	return v == k.was && f.StatusOf(k.path, k.side) == client.Measured
}

// usually is where the distance to a number is measured from when nobody told it; elsewhere it is the least.
var usually = map[string]float64{
	"client.age_years": 35, "client.body_mass_kg": 75, "client.blood_pressure.systolic": 120, "client.blood_pressure.diastolic": 80,
	"client.confidence": 5, "client.programme_week": 1, "request.minutes": 60,
}

func (n *nearest) today(k *knob, f *client.Facts) Value {
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

func (n *nearest) conditionToday(k *knob) Value {
	p := n.Request.Profile
	for i := range p.Conditions {
		if c := &p.Conditions[i]; c.ID == k.word && c.Side.On(k.side) {
			return Value{Yes: true, Word: standing(c)}
		}
	}
	return Value{Unknown: !p.ConditionsTold}
}

// standing of a condition: who told, or PAST.
func standing(c *client.Condition) string {
	switch {
	case c.Status == "PAST":
		return c.Status
	case c.ToldBy == "CLINICIAN":
		return c.ToldBy
	}
	return "CLIENT"
}

func (k *knob) edit(to Value) Edit {
	e := Edit{Path: k.of, Word: k.word, Was: k.was, To: to}
	if k.of.Sided {
		e.Side = client.Sides[k.side]
	}
	return e
}

// size of a change.
func (k *knob) size(to Value) float64 {
	if k.of.Kind != client.Number || to.None {
		return 1
	}
	return math.Abs(to.Number-k.from) / (k.of.Hi - k.of.Lo)
}

// write puts a value into the facts as they stand, and returns what puts back what was there. It is for plain knobs.
func (n *nearest) write(k *knob, f *client.Facts, v Value) (back func()) {
	if k.of.Kind == client.Number {
		number, status := n.probe(k, f, v.Number), k.tellStatus(f)
		return func() { number(); status() }
	}
	slot := k.of.Slot
	truths, sets := [2]client.Truth{f.Bool[0][at(k.of, client.Bool)], f.Bool[1][at(k.of, client.Bool)]}, [2]client.Set{f.Set[0][at(k.of, client.List)], f.Set[1][at(k.of, client.List)]}
	status := k.tellStatus(f)
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

// tellStatus marks a fact as told.
func (k *knob) tellStatus(f *client.Facts) (back func()) {
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
func (n *nearest) counting(k *knob) []string {
	words := []string{k.word}
	if k.path == "client.kit" {
		words = append(words, n.e.Frame.Vocabulary.Kit[n.e.Frame.Vocabulary.Place("kit", k.word)].CountsAs...)
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

// bearers are the knobs that bear on a path: the fact itself where it is told, and what it is worked out from where it
// isn't.
func (n *nearest) bearers(r *condition.Ref, rd *condition.Reading, atom *condition.Node) []knobKey {
	side := rd.Side
	if !r.Path.Sided {
		side = 0
	}
	of := func(prefix string) (string, bool) { return strings.CutPrefix(r.Name, prefix) }
	both := func(path string) []knobKey { return n.bothSides(path) }
	if ofConditions(r.Path) {
		var keys []knobKey
		for _, id := range n.members(r, rd, atom) {
			keys = append(keys, n.conditionKey(id, side))
		}
		return keys
	}
	if id, ok := of("client.gap."); ok { // range.M, strength.M, hold.M
		return both("client." + id)
	}
	if id, ok := of("client.margin."); ok {
		return []knobKey{{path: "client.range." + id, side: side}}
	}
	if id, ok := of("client.irritability."); ok {
		var keys []knobKey
		for _, part := range []string{".rest", ".worst", ".settle_hours", ".wakes_at_night"} {
			keys = append(keys, knobKey{path: "client.pain." + id + part, side: side})
		}
		return keys
	}
	if id, ok := of("client.in_question."); ok {
		return n.questioning(id)
	}
	if _, ok := of("norm.low."); ok {
		return []knobKey{{path: "client.age_years"}}
	}
	if r.Name == "client.hypermobile" {
		return []knobKey{{path: "client.beighton"}, {path: "client.age_years"}, n.conditionKey("hypermobility", 0)}
	}
	how, _ := tellingOf(r.Name)
	switch {
	case how == nil:
		return nil
	case r.Kind == client.List:
		var keys []knobKey
		for _, word := range n.members(r, rd, atom) {
			keys = append(keys, knobKey{r.Name, side, word})
		}
		return keys
	}
	return []knobKey{{path: r.Name, side: side}}
}

func (n *nearest) bothSides(path string) []knobKey {
	if p := n.e.Frame.Table.Path(path); p == nil || !p.Sided {
		return []knobKey{{path: path}}
	}
	return []knobKey{{path: path}, {path: path, side: 1}}
}

// tellTogether lets each knob bear on what is told with it: who tells of one medicine tells of all, who tells of a
// complaint tells of its kind.
func (n *nearest) tellTogether() {
	groups := map[string]outs{}
	for place, k := range n.knobs {
		if g := n.group(k); g != "" {
			groups[g] = append(groups[g], place)
		}
	}
	for _, w := range n.atoms {
		seen := map[string]bool{"": true}
		for _, place := range w.knobs {
			if g := n.group(n.knobs[place]); !seen[g] {
				seen[g] = true
				w.knobs = append(w.knobs, groups[g]...)
			}
		}
		slices.Sort(w.knobs)
		w.knobs = slices.Compact(w.knobs)
	}
}

// group names what is told at once; "" for what is told alone.
func (n *nearest) group(k *knob) string {
	if k.how == nil {
		return ""
	}
	id, _, _ := strings.Cut(k.id, ".")
	switch k.how.prefix {
	case "client.conditions", "client.medicines", "client.pregnancy.", "client.blood_pressure.", "client.surgery.":
		return k.how.prefix
	case "client.painful.":
		return k.how.prefix + strings.TrimSuffix(strings.TrimSuffix(k.id, ".from"), ".to")
	case "request.complaint.":
		return k.how.prefix + id
	case "client.cleared.":
		return "clearance of " + k.id
	case "client.limit.":
		_, of, _ := strings.Cut(k.id, ".")
		if id == "range" {
			of = n.e.Frame.Vocabulary.Motion(of).Region
		}
		return "clearance of " + of
	}
	return ""
}

// conditionKey: a condition of no sided region is told of no side.
func (n *nearest) conditionKey(id string, side int) knobKey {
	if n.sideless(id) {
		side = 0
	}
	return knobKey{"client.conditions", side, id}
}

// questioning are the knobs that put a region in question.
func (n *nearest) questioning(region string) []knobKey {
	var keys []knobKey
	for _, path := range []string{"request.complaint." + region + ".intensity", "client.pain." + region + ".worst", "client.pain." + region + ".rest",
		"client.rung." + region, "client.surgery." + region, "client.cleared." + region} {
		keys = append(keys, n.bothSides(path)...)
	}
	for _, c := range n.e.Frame.Vocabulary.Conditions {
		if slices.Contains(c.Regions, region) {
			keys = append(keys, n.conditionKey(c.ID, 0))
			if !n.sideless(c.ID) {
				keys = append(keys, n.conditionKey(c.ID, 1))
			}
		}
	}
	for _, l := range n.e.Frame.Lists {
		for i := range l.Questions {
			if l.Region == region {
				keys = append(keys, knobKey{path: "client.answers." + l.Questions[i].ID})
			}
		}
	}
	return keys
}

func (n *nearest) sideless(condition string) bool {
	v := n.e.Frame.Vocabulary
	regions := v.Conditions[v.Place("condition", condition)].Regions
	return len(regions) > 0 && !slices.ContainsFunc(regions, v.Sided)
}

// members are the words of a list that an atom can tell apart: those it names, those of the drill and the lift that it
// reads, those in the list today, and as many more as it could count.
func (n *nearest) members(r *condition.Ref, rd *condition.Reading, atom *condition.Node) []string {
	goesOver := atom.List == nil || atom.List.Ref == nil || atom.List.Ref.Name == r.Name // the list itself, not those of a drill
	var words []string
	if goesOver {
		words = slices.Clone(rd.Words(&condition.Words{Ref: r}).Sure)
	}
	var named func(c *condition.Node)
	named = func(c *condition.Node) {
		for _, w := range []*condition.Words{c.A, c.B, c.List} {
			switch {
			case w == nil || w.Element:
			case w.Ref == nil:
				words = append(words, w.Literal...)
			case w.Ref.Name != r.Name && w.Ref.Root != condition.OfDose:
				words = append(words, rd.Words(w).Possible...)
			}
		}
		for _, k := range c.Kids {
			named(k)
		}
		if c.Body != nil {
			named(c.Body)
		}
	}
	named(atom)
	all, more := r.Path.Words, max(1, atom.Least)
	if all == nil && goesOver {
		all = n.e.Catalogue.DrillIDs()
	}
	words = slices.DeleteFunc(words, func(w string) bool { return r.Path.Words != nil && !slices.Contains(all, w) })
	for _, w := range all {
		if goesOver && more > 0 && !slices.Contains(words, w) {
			words = append(words, w)
			more--
		}
	}
	slices.Sort(words)
	return slices.Compact(words)
}
