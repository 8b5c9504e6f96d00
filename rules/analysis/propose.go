package analysis

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// How far a proposal looks. A proof wants every spot; a client wants the first few that are near.
const (
	proofChanges   = 8
	proofNodes     = 200   // to tell at which spots there may be a client
	rivalNodes     = 50000 // to prove that something closes a spot
	proposeChanges = 6
	proposeNodes   = 2000
	proposeTries   = 12 // clients that are held against the coverage, of each kind of search
	proposeSpots   = 20 // spots at which what closes the drill is looked at too
	// What is done besides, in steps (see Lint): for all that is uncovered, and of that at most for one rule or clause.
	ProposeSteps    = 1_000_000_000
	proposeOneSteps = 250_000_000
	exercisingSteps = 20_000 // a client who is tried as a case
)

// Spot is where a rule could act: a drill on a side, in place of a lift if the rule reads one. What is raised has no drill.
type Spot struct {
	Lift, Drill *catalog.Drill
	Side        int
}

// Proposing looks for clients who exercise what no case does.
type Proposing struct {
	// Plain is the client that others should be near to. Where the way from there is too far, Others are tried, of whom the
	// rule holds as they are: the clients of the cases.
	Plain  *client.Request
	Others []*client.Request
	// Facts works out the facts of a request as a question in place of the lift, which may be nil, reads them.
	Facts func(q *client.Request, lift *catalog.Drill) *client.Facts
	// Exercises is whether a client, asked about a spot, exercises what nothing does.
	Exercises func(u Uncovered, q *client.Request, at Spot) bool
	// Done is closed when nobody waits any more: what is proposed then is nothing to go by.
	Done <-chan struct{}
	// Steps is the most that may be done. What they don't reach is not decided.
	Steps int
}

// Proposed is what came of something uncovered.
type Proposed struct {
	Uncovered
	// Existence: Exists, and then here is the client; NoClient, proved; or NotDecided.
	Existence Existence
	at        Spot
	request   *client.Request
	// Proof says in words why there is no client, or what was tried.
	Proof string
	// Steps were taken.
	Steps int
}

// Propose finds a client who exercises what is uncovered, or proves that there is none. The proof is of clients of whom
// nothing is taken back that was told: any fact may be told, in any way that a request can tell it.
func Propose(e *rules.Edition, u Uncovered, p Proposing) Proposed {
	s := &proposal{Proposing: p, e: e, u: u, nobody: emptyRequest(), left: min(p.Steps, proposeOneSteps),
		derived: map[question]*client.Facts{}, proved: map[string]bool{},
		found: map[string][]ChangeSet{}}
	s.nobody.Done = p.Done
	defer func() {
		for _, f := range s.derived {
			f.Done()
		}
	}()
	out := s.propose()
	out.Steps = min(p.Steps, proposeOneSteps) - s.left
	return out
}

func (s *proposal) propose() Proposed {
	out := Proposed{Uncovered: s.u}
	live := s.live()
	if len(live) == 0 && !s.partly {
		out.Existence, out.Proof = NoClient, s.barren()
		return out
	}
	found := s.near(live)
	if s.first(found, &out) {
		return out
	}
	if rivals, ok := s.closed(live); ok && !s.partly {
		out.Existence, out.Proof = NoClient, rivals
		return out
	}
	if s.freed(found, &out) {
		return out
	}
	if s.ended() {
		out.Proof = "the search took too many steps, and was given up before its end"
		return out
	}
	out.Proof = fmt.Sprintf("no client was found within %d changes and %d steps, and it is not proved that there is none", proposeChanges,
		proposeNodes)
	return out
}

// proposal is one search on its way.
type proposal struct {
	Proposing
	e       *rules.Edition
	u       Uncovered
	left    int  // steps
	partly  bool // not every spot was looked at
	nobody  *client.Request
	derived map[question]*client.Facts
	proved  map[string]bool        // whether it is, by the shape of the search
	found   map[string][]ChangeSet // by base, lift, changes and shape
}

// question is a client and the lift that they are asked about.
type question struct {
	*client.Request
	lift *catalog.Drill
}

// spot is one reading of the rule: a row of the drill, and a member of the rule's any (-1: none).
type spot struct {
	Spot
	row           int
	holds, denied *predicate.Node // the rule there; and with the clause against it, nil for a whole rule
}

// demands are what makes the rule hold there, and the clause decide.
func (s *spot) demands(loose bool) []Demand {
	all := []Demand{{when: s.holds, drill: s.Drill, side: s.Side, row: s.row + 1}}
	if s.denied != nil {
		all = append(all, Demand{when: s.denied, drill: s.Drill, side: s.Side, row: s.row + 1, never: true, loose: loose})
	}
	return all
}

// live are the spots of which it isn't proved that no client makes the rule hold and the clause decide.
func (s *proposal) live() []*spot {
	var live []*spot
	for one := range s.spots {
		if s.ended() {
			s.partly = true
			break
		}
		if !s.nobodyAt(one, nil, proofNodes) {
			live = append(live, one)
		}
	}
	return live
}

// nobodyAt is true when it is proved that no client makes the rule hold and the clause decide, and meets more demands.
// Who measures a range, and so how far it is trusted, no search changes: what reads that is proved by its form or not at
// all.
func (s *proposal) nobodyAt(at *spot, more []Demand, nodes int) bool {
	if s.ended() {
		return false
	}
	q := Search{Demands: append(at.demands(true), more...), Request: s.nobody, lift: at.Lift, now: s.of(s.nobody, at.Lift),
		derive:  s.facts(at.Lift),
		Changes: proofChanges, Nodes: nodes, steps: s.left}
	n, facts := newNearest(s.e, q)
	defer s.pay(n)
	shape := fmt.Sprintf("%p %s", at.Lift, n.shape())
	known, ok := s.proved[shape]
	if !ok {
		known = n.refuted() || !n.readsMargins() && n.search(facts).Existence == NoClient
		s.proved[shape] = known
	}
	return known
}

// ended is true when nothing more is to be done: the steps ran out, or nobody waits.
func (s *proposal) ended() bool { return s.left <= 0 || s.nobody.Abandoned() }

// pay takes what a search cost from what is left.
func (s *proposal) pay(n *nearest) { s.left -= n.taken + searchingSteps }

func (n *nearest) readsMargins() bool {
	return slices.ContainsFunc(n.atoms, func(w *constraint) bool {
		return w.atom.Reads(func(r *predicate.Ref) bool { return strings.HasPrefix(r.Name, "client.margin.") })
	})
}

func emptyRequest() *client.Request {
	return &client.Request{Profile: &client.Profile{}, AsOf: someDay}
}

func (s *proposal) of(q *client.Request, lift *catalog.Drill) *client.Facts {
	key := question{q, lift}
	if s.derived[key] == nil {
		s.derived[key] = s.Facts(q, lift)
	}
	return s.derived[key]
}

func (s *proposal) facts(lift *catalog.Drill) func(*client.Request) *client.Facts {
	return func(q *client.Request) *client.Facts { return s.Facts(q, lift) }
}

// spots yields every reading of the rule that some client could make hold.
func (s *proposal) spots(yield func(*spot) bool) {
	r := s.u.Rule
	members := []int{-1}
	if r.Domain != nil {
		for i := range r.Domain.Kids {
			members = append(members, i)
		}
	}
	var forms []spot
	for _, m := range members {
		form := spot{holds: onMember(r, m, nil)}
		if s.u.Clause != nil {
			form.denied = onMember(r, m, (&clause{first: s.u.Clause, under: s.u.Not}).is)
		}
		forms = append(forms, form)
	}
	at := func(lift, drill *catalog.Drill, rows int) bool {
		for side := range 2 {
			for row := range rows {
				for _, form := range forms {
					form.Spot, form.row = Spot{lift, drill, side}, row
					if !yield(&form) {
						return false
					}
				}
			}
		}
		return true
	}
	if !r.AboutDrills() {
		at(nil, nil, 1)
		return
	}
	lifts := []*catalog.Drill{nil}
	if r.When.Reads(func(ref *predicate.Ref) bool { return ref.Root == predicate.OfLift }) {
		lifts, s.partly = append(lifts, s.e.Catalogue.Drills...), true
	}
	for _, lift := range lifts {
		for _, d := range s.e.Catalogue.Drills {
			rows := len(s.e.RowsReadBy(r, d))
			if s.e.AppliesTo(r, d) && (lift == nil || s.couldHold(lift, d)) && !at(lift, d, rows) {
				return
			}
		}
	}
}

// couldHold passes over pairs of lift and drill that are out of question.
func (s *proposal) couldHold(lift, d *catalog.Drill) bool {
	s.left -= searchingSteps
	return s.e.PossibleOn(s.u.Rule.When, s.e.Rows(d)[:1], lift)
}

// onMember is a rule's condition where its any is one member (-1: none of them) and the denied atoms speak against it.
func onMember(r *rules.Rule, member int, denied func(atom *predicate.Node, under bool) bool) *predicate.Node {
	always := &predicate.Node{Op: predicate.Always}
	never := &predicate.Node{Op: predicate.Not, Kids: []*predicate.Node{always}}
	var form func(n *predicate.Node, under bool) *predicate.Node
	form = func(n *predicate.Node, under bool) *predicate.Node {
		switch {
		case n == r.Domain && member < 0:
			return never
		case n == r.Domain:
			return form(n.Kids[member], under)
		case n.Op == predicate.And || n.Op == predicate.Or || n.Op == predicate.Not:
			out := &predicate.Node{Op: n.Op}
			for _, k := range n.Kids {
				out.Kids = append(out.Kids, form(k, under != (n.Op == predicate.Not)))
			}
			return out
		case denied == nil || n.Op == predicate.Always || !denied(n, under):
			return n
		case under:
			return always
		}
		return never
	}
	return form(r.When, false).Seal()
}

// near is a client found at a spot.
type near struct {
	*spot
	ChangeSet
}

// near finds at each spot the client nearest to the plain one, whatever else might keep them from the drill; the nearest
// first.
func (s *proposal) near(live []*spot) []near {
	var found []near
	for _, one := range live {
		found = append(found, s.search(one, s.Plain, nil, proposeChanges)...)
	}
	slices.SortStableFunc(found, nearer)
	return found
}

// search finds the client nearest to another for whom the rule holds at a spot and the clause decides.
func (s *proposal) search(at *spot, base *client.Request, more []Demand, changes int) []near {
	if s.ended() {
		return nil
	}
	n, facts := newNearest(s.e, Search{Demands: append(at.demands(false), more...), Request: base, lift: at.Lift, now: s.of(base, at.Lift),
		derive: s.facts(at.Lift), Changes: changes, Nodes: proposeNodes, steps: s.left})
	defer s.pay(n)
	key := fmt.Sprintf("%p %p %d %s", base, at.Lift, changes, n.shape())
	sets, ok := s.found[key]
	if !ok {
		sets = n.search(facts).Sets
		s.found[key] = sets
	}
	if len(sets) == 0 {
		return nil
	}
	return []near{{at, sets[0]}}
}

// freed looks at the nearest spots for a client whom nothing keeps from the drill, or only bars that a clearance covers.
func (s *proposal) freed(found []near, out *Proposed) bool {
	for _, coverable := range []bool{true, false} {
		for _, one := range found[:min(len(found), proposeSpots)] {
			more := s.countsAt(one.spot, coverable)
			if s.first(s.search(one.spot, s.Plain, more, proposeChanges), out) {
				return true
			}
			for _, other := range s.Others {
				if len(s.search(one.spot, other, nil, 0)) > 0 && s.first(s.search(one.spot, other, more, proposeChanges), out) {
					return true
				}
			}
		}
	}
	return false
}

func nearer(a, b near) int {
	return cmp.Or(cmp.Compare(len(a.Edits), len(b.Edits)), cmp.Compare(a.size, b.size))
}

// first takes the first client of a list who exercises what is asked; each is tried once, and only so many are.
func (s *proposal) first(found []near, out *Proposed) bool {
	var tried []string
	for _, one := range found {
		if digest := one.Request.Digest(); !slices.Contains(tried, digest) && len(tried) < proposeTries {
			for _, q := range []*client.Request{one.Request, s.cleared(one.Request)} {
				if s.left -= exercisingSteps; s.ended() {
					return false
				}
				if q != nil && s.Exercises(s.u, q, one.Spot) {
					out.Existence, out.at, out.request = Exists, one.Spot, q
					return true
				}
			}
			tried = append(tried, digest)
		}
	}
	return false
}

// cleared is a client with a clinician's leave to train despite each condition; nil without any. No fact that a rule
// reads tells of it, so no search finds it.
func (s *proposal) cleared(q *client.Request) *client.Request {
	p := *q.Profile
	p.ClearancesTold, p.Clearances = true, slices.Clone(p.Clearances)
	v := s.e.Frame.Vocabulary
	for _, c := range p.Conditions {
		for _, region := range v.Conditions[v.Index("condition", c.ID)].Regions {
			p.Clearances = append(p.Clearances, client.Clearance{By: "CLINICIAN", Region: region, Side: c.Side, Given: q.AsOf,
				Covers: []string{c.ID}})
		}
	}
	if len(p.Clearances) == len(q.Profile.Clearances) {
		return nil
	}
	out := *q
	out.Profile = &p
	return &out
}

// countsAt demands that nothing keeps the rule from counting: no bar, no referral, and no dose above it. Coverable bars
// may be left to a clearance. A bar whose every fact a test would settle bars only when it is sure.
func (s *proposal) countsAt(at *spot, coverable bool) []Demand {
	var all []Demand
	for _, r := range s.rivals(at) {
		if r.Effect == rules.Bar && r.ReadsConditions && !coverable {
			continue
		}
		for _, d := range s.keeps(r, at) {
			d.loose = r.Effect == rules.Dosing || r.Effect == rules.Bar && !r.When.BarsWhenUnknown()
			all = append(all, d)
		}
	}
	return all
}

// rivals are what could keep a rule from counting at a spot. A bar counts whatever else bars.
func (s *proposal) rivals(at *spot) []*rules.Rule {
	r := s.u.Rule
	if !r.AboutDrills() || r.Effect == rules.Bar {
		return nil
	}
	all := slices.Clone(s.e.Book.Of(rules.Refer))
	if r.Effect == rules.Dosing {
		all = append(all, s.e.Book.Doses[:slices.Index(s.e.Book.Doses, r)]...)
	}
	for b := range s.e.BarsFor(at.Drill) {
		all = append(all, b)
	}
	return all
}

// keeps demands that a rival doesn't keep the rule from counting; none where it can't.
func (s *proposal) keeps(r *rules.Rule, at *spot) []Demand {
	d := at.Drill
	switch {
	case r.Effect == rules.Bar || r.Effect == rules.Dosing:
		return []Demand{MustNot(r, d, at.Side)}
	case r.Urgency == "emergency" || r.Urgency == "today", r.Scope == "person" && d.Loads, r.Scope == "class" && s.e.ClassHolds(r, d):
		return []Demand{MustNot(r, nil, 0), MustNot(r, nil, 1)}
	case r.Scope == "region":
		return s.regionOpen(r, at)
	}
	return nil
}

// regionOpen demands that a referral of a region leaves open what the drill loads.
func (s *proposal) regionOpen(r *rules.Rule, at *spot) []Demand {
	var all []Demand
	for i := range at.Drill.Rows {
		for region := range at.Drill.Rows[i].Asks() {
			if !s.e.Frame.Ladder(region).Loads(&at.Drill.Rows[i], region) {
				continue
			}
			when := r.When
			if r.Region == "" {
				if r.Domain == nil {
					continue // it is about no region
				}
				member := slices.Index(r.Domain.Witnesses, region)
				if member < 0 {
					continue
				}
				when = onMember(r, member, nil)
			} else if r.Region != region {
				continue
			}
			all = append(all, Demand{when: when, side: at.Side ^ i, never: true})
		}
	}
	return all
}

// closed is true when at every live spot some rival holds for sure wherever the rule holds and the clause decides. A bar
// that a clearance could cover proves nothing.
func (s *proposal) closed(live []*spot) (string, bool) {
	var by []*rules.Rule
	for _, one := range live {
		rivals := append(slices.Clone(by), s.rivals(one)...)
		at := slices.IndexFunc(rivals, func(r *rules.Rule) bool { return s.closes(r, one) })
		if at < 0 {
			return "", false
		}
		if !slices.Contains(by, rivals[at]) {
			by = append(by, rivals[at])
		}
	}
	var ids []string
	for _, r := range by {
		ids = append(ids, r.ID)
	}
	slices.Sort(ids)
	if s.u.Rule.Effect == rules.Dosing {
		return "wherever it holds, another dose is taken before it, or the drill is closed: " + strings.Join(ids, ", "), true
	}
	return "wherever it would decide, the drill is closed by " + strings.Join(ids, ", "), true
}

func (s *proposal) closes(r *rules.Rule, at *spot) bool {
	demands := s.keeps(r, at)
	if len(demands) == 0 || r.Effect == rules.Bar && r.ReadsConditions || !s.sharesFacts(r) {
		return false
	}
	for i := range demands {
		demands[i].loose = true
	}
	return s.nobodyAt(at, demands, rivalNodes)
}

// sharesFacts is false of a rival about other facts than the rule: nothing would come of asking.
func (s *proposal) sharesFacts(r *rules.Rule) bool {
	reported := false
	shared := r.When.Reads(func(a *predicate.Ref) bool {
		reported = reported || a.Root == predicate.OfFacts
		return a.Root == predicate.OfFacts && s.u.Rule.When.Reads(func(b *predicate.Ref) bool { return a.Name == b.Name })
	})
	return shared || !reported
}

// barren says of what no client exercises at any spot how many drills it is about.
func (s *proposal) barren() string {
	r, c := s.u.Rule, s.u.Clause
	switch {
	case c == nil && !r.AboutDrills():
		return "it holds for no client"
	case c == nil:
		return "it holds for no client on any drill"
	case !r.AboutDrills():
		return "for no client does the rule hang on it"
	case c.Reads(func(ref *predicate.Ref) bool { return ref.Root != predicate.OfDrill }):
		return "for no client and no drill does the rule hang on it"
	}
	var meet []string
	for _, d := range s.e.Catalogue.Drills {
		if slices.ContainsFunc(s.e.Rows(d), func(row *predicate.Row) bool {
			rd := predicate.Read(nil, 0, row, s.e.LiftRow(nil))
			return rd.Eval(c).Sure != s.u.Not
		}) {
			meet = append(meet, d.ID)
		}
	}
	switch few := 3; {
	case len(meet) == 0:
		return "no drill meets it"
	case len(meet) <= few:
		return "whoever the client, the rule hangs on it for none of the drills that meet it: " + strings.Join(meet, ", ")
	default:
		return fmt.Sprintf("whoever the client, the rule hangs on it for none of the %d drills that meet it, such as %s", len(meet),
			strings.Join(meet[:few], ", "))
	}
}
