package selection

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	"drillwright/rules"
	"drillwright/rules/client"
)

// Options shape an answer without changing what it decides.
type Options struct {
	// Limit is the most substitutes to return; 0 is the book's default, -1 all of them, without the family cap.
	Limit int
	// Brief leaves out the reasons of what is chosen and the parts of its score. Cautions, what to test first and
	// the reasons of what is left out stay.
	Brief bool
}

// UnknownID is a request for something that isn't there, with the nearest that is.
type UnknownID struct {
	Kind    string // drill, plan
	ID      string
	Nearest []string
}

func (u *UnknownID) Error() string { return u.violation("").Sentence() }

func (u *UnknownID) violation(field string) client.Violation {
	v := client.Violation{Field: field, Message: fmt.Sprintf("there is no %s %q", u.Kind, authored.Shortened(u.ID))}
	if len(u.Nearest) > 0 {
		v.Suggestion = "nearest: " + strings.Join(u.Nearest, ", ")
	}
	return v
}

// Unwrap makes errors.Is(err, catalog.ErrNotFound) true.
func (u *UnknownID) Unwrap() error { return catalog.ErrNotFound }

// Named is something that a question names by its id: in the field of that name, a drill or a plan.
type Named struct{ Field, Kind, ID string }

// Faults is everything that is wrong with a question: with the request, and what it names that isn't there. Of a request that
// is abandoned it may be less.
func Faults(e *rules.Edition, q *client.Request, named ...Named) []client.Violation {
	var list []client.Violation
	var invalid *client.Invalid
	if errors.As(client.Check(e.Frame, q), &invalid) {
		list = invalid.Violations
	}
	for _, n := range named {
		if u := n.unknown(e); u != nil {
			list = append(list, u.violation(n.Field))
		}
	}
	return list
}

// refused is why a question can't be answered; nil when it can. Errors: *UnknownID, where that is the only fault;
// *client.Invalid, with every fault; client.ErrAbandoned.
func refused(e *rules.Edition, q *client.Request, named []Named) error {
	list := Faults(e, q, named...)
	if q.Abandoned() {
		return client.ErrAbandoned
	}
	if len(list) == 1 {
		for _, n := range named {
			if u := n.unknown(e); u != nil {
				return u
			}
		}
	}
	return client.NewInvalid(list)
}

// unknown is nil when what is named is there.
func (n Named) unknown(e *rules.Edition) *UnknownID {
	switch {
	case n.Kind == "plan" && e.Book.Plan(n.ID) == nil:
		u := &UnknownID{Kind: n.Kind, ID: n.ID}
		for _, p := range e.Book.Plans {
			u.Nearest = append(u.Nearest, p.ID)
		}
		return u
	case n.Kind == "drill" && e.Catalogue.Drill(n.ID) == nil:
		return &UnknownID{Kind: n.Kind, ID: n.ID, Nearest: authored.NearestFew(n.ID, e.Catalogue.DrillIDs(), 5)}
	}
	return nil
}

// asked is one request on its way to an answer.
type asked struct {
	e     *rules.Edition
	q     *client.Request // in its canonical form, so that no answer follows the order in which something was told
	sent  *client.Request // as it was asked, for what names a part of it by its index
	facts *client.Facts
	// derived are the facts as they were worked out; Select goes on with a copy that knows its minutes.
	derived   *client.Facts
	permitted permission
	head      Header
	sore      uint64  // regions that hurt
	lifted    []lifts // see readLog
	relatives []int   // drills that have a share of one in lifted, by their indexes
	pace      client.Pace
	paced     bool // pace is of this client
	words     testWords
	// Room that serves one request after another.
	advices  []Caution
	reasoned []Reason
	ranking  ranking
	kept     []candidate
}

var scratch = &sync.Pool{New: func() any { return new(asked) }}

// view is how much of the reasons is told.
func (o Options) view() string {
	if o.Brief {
		return "BASIC"
	}
	return "REASONS"
}

// ask checks the request and what it names, works out the facts and screens. Every answer starts here. The question is what
// is asked of the client beyond the request: the method first, then what tells two of its questions apart. Errors: those of
// refused.
func ask(e *rules.Edition, q *client.Request, named []Named, question ...string) (*asked, error) {
	if err := refused(e, q, named); err != nil {
		return nil, err
	}
	a := scratch.Get().(*asked)
	a.e, a.q, a.sent = e, q.Canonical(), q
	a.facts = client.Derive(e.Frame, a.q)
	a.derived = a.facts
	var sore []string
	for _, c := range a.q.Complaints {
		sore = append(sore, c.Region)
	}
	a.sore = e.Frame.Vocabulary.SetOf("region", sore)[0]
	a.readLog()
	a.head.Screening, a.permitted = screen(e, a.facts)
	emergency := a.head.Screening.emergency()
	for r := range e.Advisories(e.Book.Advices, a.facts) {
		if said := r.Rule.Emergency; emergency && said == "" || !emergency && said == "only" {
			continue
		}
		a.advices = append(a.advices, Caution{Rule: r.Rule.ID, Words: r.Reason.Words, NotRuledOut: !r.Sure})
	}
	a.advices = slices.CompactFunc(a.advices, func(x, y Caution) bool { return x.Rule == y.Rule && x.Words == y.Words })
	a.head.Cautions = append([]Caution(nil), a.advices...)
	a.head.Notes = a.notes()
	a.head.Receipt = Receipt{RequestDigest: a.q.Digest(question...), Revision: e.Revision, Engine: rules.EngineVersion}
	if q.Abandoned() {
		a.done()
		return nil, client.ErrAbandoned
	}
	return a, nil
}

// done gives the facts and the room back; the answer holds nothing of them, and they nothing of the client.
func (a *asked) done() {
	a.derived.Done()
	a.pace.Forget()
	clear(a.lifted)
	clear(a.advices)
	clear(a.reasoned[:cap(a.reasoned)])
	clear(a.ranking.list)
	clear(a.kept)
	*a = asked{lifted: a.lifted[:0], relatives: a.relatives[:0], pace: a.pace, advices: a.advices[:0], reasoned: a.reasoned[:0],
		ranking: ranking{list: a.ranking.list[:0]}, kept: a.kept[:0]}
	scratch.Put(a)
}

// presumed lists what was presumed: the rungs, and the ranges that the drills of the answer travel.
func (a *asked) presumed(drills ...*catalog.Drill) {
	if a.head.Presumed = nil; a.permitted.none { // nothing is built on it
		return
	}
	for _, p := range a.facts.Presumptions {
		motion, isRange := strings.CutPrefix(p.Path, "client.range.")
		travelled := slices.ContainsFunc(drills, func(d *catalog.Drill) bool {
			return slices.ContainsFunc(d.Rows, func(r catalog.Row) bool { return r.Arc(motion) != nil })
		})
		if !isRange || travelled {
			a.head.Presumed = append(a.head.Presumed, p.Words)
		}
	}
}

func (a *asked) notes() []string {
	var out []string
	if !a.head.Screening.emergency() {
		out = a.untold()
	}
	if a.e.Book.Review == nil {
		out = append(out, "No licensed professional has reviewed this rulebook: have yours review it before real clients.")
	}
	for _, l := range a.e.Book.About.Loosens {
		out = append(out, fmt.Sprintf("This rulebook loosens the floor: %s (%s). %s answers for it.", l.Floor, l.Why, a.e.Book.ReviewedBy()))
	}
	return out
}

// untold says what was not told, and how it was taken.
func (a *asked) untold() []string {
	var out []string
	if !a.q.Profile.KitTold {
		out = append(out, "Kit was not told: only drills that need nothing are offered.")
	}
	if !conditionsKnown(a.facts) {
		out = append(out, "Conditions were not asked about: drills that any condition bars are left out.")
	}
	if len(a.q.Profile.Clearances) == 0 {
		out = append(out, "No clinician's clearance was told.")
	}
	if n := len(a.facts.LeftOut); n > 0 {
		out = append(out, leftOutOfLog(n, a.facts.LeftOut))
	}
	return out
}

// mostNamed is how many unknown drills of a log are named.
const mostNamed = 3

// leftOutOfLog says which sets of the log nothing was read of.
func leftOutOfLog(sets int, drills []string) string {
	named := slices.Compact(slices.Sorted(slices.Values(drills)))
	more := ""
	if len(named) > mostNamed {
		more = fmt.Sprintf(" and %d more", len(named)-mostNamed)
		named = named[:mostNamed]
	}
	for i := range named {
		named[i] = authored.Shortened(named[i])
	}
	are := "sets of the log are of drills"
	if sets == 1 {
		are = "set of the log is of a drill"
	}
	return fmt.Sprintf("%d %s that the catalogue doesn't have (%s%s): nothing was read of that.",
		sets, are, strings.Join(named, ", "), more)
}

// conditionsKnown: told in the profile, or denied in the screening.
func conditionsKnown(f *client.Facts) bool {
	reported := f.Words("client.conditions", catalog.Left)
	return len(reported.Possible) == len(reported.Sure)
}

// measureNext counts, for each missing measure, the drills that a normal value would open. The most are named, and one more
// where it is the other side of the last.
func (a *asked) measureNext(j *rules.Judgement, waits []rules.UntestedSide, most int) []Measurement {
	opens := map[rules.Measure]int{}
	for _, w := range waits {
		if a.q.Abandoned() {
			break
		}
		for _, m := range j.Missing(w) {
			normal := a.facts.Number("norm.low."+strings.TrimPrefix(m.Path.Name, "client.range."), 0)
			if !normal.Known() {
				continue
			}
			a.facts.Try(m.Path, m.Side, normal.Lo, func() {
				if !slices.ContainsFunc(w.Bars, func(r *rules.Rule) bool { return j.CouldHold(r, w.Drill, w.Side, a.facts) }) {
					opens[m]++
				}
			})
		}
	}
	var list []Measurement
	for t, n := range opens {
		m := Measurement{Path: t.Path.Name, Words: t.Path.Measure, Opens: n, How: a.how(t.Path)}
		if t.Path.Sided {
			m.Side = string(client.Sides[t.Side])
		}
		list = append(list, m)
	}
	slices.SortFunc(list, func(x, y Measurement) int {
		return cmp.Or(cmp.Compare(y.Opens, x.Opens), cmp.Compare(x.Path, y.Path), cmp.Compare(x.Side, y.Side))
	})
	if len(list) <= most {
		return list
	}
	if last, next := list[most-1], list[most]; last.Path == next.Path && last.Opens == next.Opens { // neither side goes before the other
		most++
	}
	return list[:most]
}

func (a *asked) how(p *client.Path) string {
	if m := a.e.Frame.Vocabulary.Motion(strings.TrimPrefix(p.Name, "client.range.")); m != nil {
		return m.Position
	}
	return ""
}
