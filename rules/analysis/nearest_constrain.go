package analysis

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// attach finds the levers that bear on an atom.
func (n *nearest) attach(w *constraint) {
	n.atoms = append(n.atoms, w)
	rd := &n.readings[w.reading]
	numbers := leverSet{}
	w.atom.OwnRefs(func(r *predicate.Ref) {
		if r.Root != predicate.OfFacts || r.Name == "side" {
			return
		}
		if r.Kind == client.List && !n.may(r.Path, rd) {
			return
		}
		keys := n.keysFor(r, rd, w.atom)
		w.opaque = w.opaque || len(keys) == 0
		for _, key := range keys {
			index := n.leverIndex(key, rd.Facts)
			k := n.levers[index]
			if !k.free {
				continue
			}
			k.atoms = append(k.atoms, occurrence{w, r})
			w.levers = append(w.levers, index)
			if key.path == r.Name || strings.HasPrefix(r.Name, "client.gap.") {
				numbers = append(numbers, index)
			}
		}
	})
	slices.Sort(w.levers)
	w.levers = slices.Compact(w.levers)
	slices.Sort(numbers)
	if numbers = slices.Compact(numbers); len(numbers) > 1 && w.op == predicate.Compare {
		for _, index := range numbers {
			if k := n.levers[index]; !slices.Contains(k.joint, sumOf(w.atom)) {
				k.joint = append(k.joint, sumOf(w.atom))
			}
		}
	}
	w.opaque = w.opaque || w.op == predicate.Measured && w.never // no measure is taken back
}

// sumOf tells the sum of facts that a comparison holds against a threshold from other sums. A gap in degrees is the
// difference of its sides; one in percent is no sum, and each comparison with it stands for itself.
func sumOf(c *predicate.Node) string {
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
	var walk func(m *predicate.Num, times float64)
	walk = func(m *predicate.Num, times float64) {
		switch {
		case m == nil:
		case m.Op == predicate.Value && m.Ref.Root == predicate.OfFacts:
			add(m.Ref.Name, times)
		case m.Op == predicate.Mul:
			walk(m.L, times*m.K)
		case m.Op == predicate.Neg:
			walk(m.L, -times)
		case m.Op == predicate.Sub:
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

// may is whether a list may be told otherwise: finding its members is costly.
func (n *nearest) may(p *client.Path, rd *predicate.Reading) bool {
	if ofConditions(p) {
		p = n.e.Frame.Table.Path("client.conditions")
	}
	side := rd.Side
	if !p.Sided {
		side = 0
	}
	return n.mayChange == nil || n.mayChange(p, side, rd.Facts.StatusOf(p.Name, side) == client.Measured)
}

// ofConditions is true of the lists that what is told of conditions fills.
func ofConditions(p *client.Path) bool {
	return strings.HasPrefix(p.Name, "client.conditions") || p.Name == "client.past_conditions"
}

// keysFor are the levers that bear on a path: the fact itself where it is told, and what it is worked out from where it
// isn't.
func (n *nearest) keysFor(r *predicate.Ref, rd *predicate.Reading, atom *predicate.Node) []leverKey {
	side := rd.Side
	if !r.Path.Sided {
		side = 0
	}
	if question := n.openQuestion(r.Name, rd.Facts); question != "" {
		return append(n.leversOf(r, rd, atom, side), leverKey{path: "client.answers." + question})
	}
	return n.leversOf(r, rd, atom, side)
}

// openQuestion is the question whose open yes leaves a path unknown, whatever list is told; "" when there is none.
func (n *nearest) openQuestion(path string, f *client.Facts) string {
	for _, o := range openedBy {
		if !strings.HasPrefix(path, o.prefix) {
			continue
		}
		for _, q := range o.questions {
			if f.Open(q) {
				return q
			}
		}
	}
	return ""
}

var openedBy = []struct {
	prefix    string
	questions []string
}{
	{"client.surgery", []string{"surgery_or_dislocation", "operation_last_12_weeks"}},
	{"client.operation", []string{"surgery_or_dislocation", "operation_last_12_weeks"}},
	{"client.condition", []string{"known_condition"}},
	{"client.healing_bone.", []string{"known_condition"}},
	{"client.medicines", []string{"takes_medicine"}},
	{"client.pregnancy.", []string{"pregnant_or_recent_birth"}},
	{"client.blood_pressure.", []string{"high_blood_pressure"}},
}

// leversOf are the levers of a path, as if no open yes stood in the way.
func (n *nearest) leversOf(r *predicate.Ref, rd *predicate.Reading, atom *predicate.Node, side int) []leverKey {
	of := func(prefix string) (string, bool) { return strings.CutPrefix(r.Name, prefix) }
	if ofConditions(r.Path) {
		var keys []leverKey
		for _, id := range n.members(r, rd, atom) {
			keys = append(keys, n.conditionKey(id, side))
		}
		return keys
	}
	if id, ok := of("client.condition_days."); ok {
		key := n.conditionKey(id, side)
		return []leverKey{key, {path: r.Name, side: key.side}}
	}
	if id, ok := of("client.operation_weeks."); ok {
		return []leverKey{{"client.operations", side, id}, {path: r.Name, side: side}}
	}
	if id, ok := of("client.tendon_named."); ok {
		var keys []leverKey
		for _, c := range n.e.Frame.Vocabulary.Conditions {
			if c.Tendon && slices.Contains(c.Regions, id) {
				keys = append(keys, n.conditionKey(c.ID, side))
			}
		}
		return keys
	}
	if id, ok := of("client.gap."); ok { // range.M, strength.M, hold.M
		return n.bothSides("client." + id)
	}
	if id, ok := of("client.margin."); ok {
		return []leverKey{{path: "client.range." + id, side: side}}
	}
	id, irritability := of("client.irritability.")
	if entry, ok := of("client.entry_rung."); ok {
		id, irritability = entry, true
	}
	if irritability {
		var keys []leverKey
		for _, part := range []string{".rest", ".worst", ".settle_hours", ".wakes_at_night"} {
			keys = append(keys, leverKey{path: "client.pain." + id + part, side: side})
		}
		return append(keys, n.unquiet(id, side)...)
	}
	if id, ok := of("client.pain."); ok {
		region, _, _ := strings.Cut(id, ".")
		return append(n.unquiet(region, side), leverKey{path: r.Name, side: side})
	}
	for _, prefix := range []string{"client.in_question.", "client.other_side_in_question.", "client.quiet_side."} {
		if id, ok := of(prefix); ok {
			return n.questioning(id)
		}
	}
	if id, ok := of("client.sore."); ok {
		var keys []leverKey
		for _, path := range []string{"request.complaint." + id + ".intensity", "client.pain." + id + ".worst", "client.pain." + id + ".rest"} {
			keys = append(keys, leverKey{path: path, side: side})
		}
		return keys
	}
	if _, ok := of("norm.low."); ok {
		return []leverKey{{path: "client.age_years"}}
	}
	if r.Name == "client.hypermobile" {
		return []leverKey{{path: "client.beighton"}, {path: "client.age_years"}, n.conditionKey("hypermobility", 0)}
	}
	how, _ := reportingOf(r.Name)
	switch {
	case how == nil:
		return nil
	case r.Kind == client.List:
		var keys []leverKey
		for _, word := range n.members(r, rd, atom) {
			keys = append(keys, leverKey{r.Name, side, word})
		}
		return keys
	}
	return []leverKey{{path: r.Name, side: side}}
}

func (n *nearest) bothSides(path string) []leverKey {
	if p := n.e.Frame.Table.Path(path); p == nil || !p.Sided {
		return []leverKey{{path: path}}
	}
	return []leverKey{{path: path}, {path: path, side: 1}}
}

// reportTogether lets each lever bear on what is told with it: who tells of one medicine tells of all, who tells of a
// complaint tells of its kind.
func (n *nearest) reportTogether() {
	groups := map[string]leverSet{}
	for index, k := range n.levers {
		if g := n.group(k); g != "" {
			groups[g] = append(groups[g], index)
		}
	}
	for _, w := range n.atoms {
		seen := map[string]bool{"": true}
		for _, index := range w.levers {
			if g := n.group(n.levers[index]); !seen[g] {
				seen[g] = true
				w.levers = append(w.levers, groups[g]...)
			}
		}
		slices.Sort(w.levers)
		w.levers = slices.Compact(w.levers)
	}
}

// group names what is told at once; "" for what is told alone.
func (n *nearest) group(k *lever) string {
	if k.how == nil {
		return ""
	}
	id, _, _ := strings.Cut(k.id, ".")
	switch k.how.prefix {
	case "client.conditions", "client.medicines", "client.pregnancy.", "client.blood_pressure.":
		return k.how.prefix
	case "client.healing_bone.", "client.condition_days.":
		return "client.conditions"
	case "client.surgery.", "client.surgery_weeks.", "client.trained_since_surgery.", "client.operations", "client.operation_weeks.":
		return "client.surgery."
	case "client.painful.":
		return k.how.prefix + strings.TrimSuffix(strings.TrimSuffix(k.id, ".from"), ".to")
	case "request.complaint.":
		return k.how.prefix + id
	case "client.cleared.", "client.surgery_cleared.":
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
func (n *nearest) conditionKey(id string, side int) leverKey {
	if n.sideless(id) {
		side = 0
	}
	return leverKey{"client.conditions", side, id}
}

// questioning are the levers that put a region in question.
func (n *nearest) questioning(region string) []leverKey {
	var keys []leverKey
	for _, path := range []string{"request.complaint." + region + ".intensity", "client.pain." + region + ".worst", "client.pain." + region +
		".rest",
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
				keys = append(keys, leverKey{path: "client.answers." + l.Questions[i].ID})
			}
		}
	}
	return keys
}

// unquiet is what was told of a side of a region: without it no pain would be presumed.
func (n *nearest) unquiet(region string, side int) []leverKey {
	var keys []leverKey
	for i := range n.Request.Complaints {
		if c := &n.Request.Complaints[i]; c.Region == region && c.Side.On(side) {
			keys = append(keys, leverKey{path: "request.complaint." + region + ".intensity", side: side})
			break
		}
	}
	v := n.e.Frame.Vocabulary
	for i := range n.Request.Profile.Conditions {
		c := &n.Request.Profile.Conditions[i]
		if slices.Contains(v.Conditions[v.Index("condition", c.ID)].Regions, region) && c.Side.On(side) {
			keys = append(keys, n.conditionKey(c.ID, side))
		}
	}
	return keys
}

func (n *nearest) sideless(condition string) bool {
	v := n.e.Frame.Vocabulary
	regions := v.Conditions[v.Index("condition", condition)].Regions
	return len(regions) > 0 && !slices.ContainsFunc(regions, v.Sided)
}

// members are the words of a list that an atom can tell apart: those it names, those of the drill and the lift that it
// reads, those in the list today, and as many more as it could count.
func (n *nearest) members(r *predicate.Ref, rd *predicate.Reading, atom *predicate.Node) []string {
	goesOver := atom.List == nil || atom.List.Ref == nil || atom.List.Ref.Name == r.Name // the list itself, not those of a drill
	var words []string
	if goesOver {
		words = slices.Clone(rd.Words(&predicate.Words{Ref: r}).Sure)
	}
	var named func(c *predicate.Node)
	named = func(c *predicate.Node) {
		for _, w := range []*predicate.Words{c.A, c.B, c.List} {
			switch {
			case w == nil || w.Element:
			case w.Ref == nil:
				words = append(words, w.Literal...)
			case w.Ref.Name != r.Name && w.Ref.Root != predicate.OfDose:
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
	all, more := r.Path.Words, max(1, int(atom.Least))
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
