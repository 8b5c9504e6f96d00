package rules

import (
	"fmt"
	"iter"
	"math"
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/rules/client"
	"drillwright/rules/predicate"
)

// Reason is a rule that bears on a drill, in words filled in with the client's figures.
type Reason struct {
	Rule   string
	Effect string // REFER, BAR, CAUTION, FAVOUR, DOSE, ADJUST
	Side   string // side of the body it is about; empty for midline facts
	Words  string
	// Standing is HOLDS, NOT_RULED_OUT (a caution or adjust that may hold) or UNTESTED (a measure is missing).
	Standing string
	Points   int
	Source   string
	Member   string // the motion, region or stressor that made it hold
	Facts    []Fact
}

// Fact is a figure of the client that a rule read.
type Fact struct {
	Path   string
	Side   string
	Value  string // as people read it; empty when unknown
	Unit   string
	Status string // MEASURED, PRESUMED, UNKNOWN
	Why    string // why it is unknown
}

// Standings of a reason.
const (
	Holds       = "HOLDS"
	NotRuledOut = "NOT_RULED_OUT"
	Untested    = "UNTESTED"
)

// Reasons renders a rule on a drill and side: one reason for each member that made it hold, in the order of the
// vocabulary; one alone for a rule without members. Only what could hold is rendered.
func (j *Judgement) Reasons(r *Rule, d *catalog.Drill, side int) []Reason {
	return j.AppendReasons(nil, r, d, side)
}

// AppendReasons is Reasons behind others.
func (j *Judgement) AppendReasons(out []Reason, r *Rule, d *catalog.Drill, side int) []Reason {
	readings := j.single.of(r, d, side)
	for i := range readings {
		out = j.Edition.reasonsOn(out, r, &readings[i], &j.said)
	}
	return out
}

// said remembers reasons that say nothing of the drill: for the next drill they are the same.
type said []saidOnce

type saidOnce struct {
	rule         *Rule
	side, member int
	sure         bool
	reason       Reason
}

func (s *said) find(r *Rule, rd *predicate.Reading, sure bool) (Reason, bool) {
	if s == nil {
		return Reason{}, false
	}
	for i := range *s {
		if had := &(*s)[i]; had.rule == r && had.side == rd.Side && had.member == rd.Only && had.sure == sure {
			return had.reason, true
		}
	}
	return Reason{}, false
}

// reasonsOn renders a rule on one reading, a reason for each member.
func (e *Edition) reasonsOn(out []Reason, r *Rule, rd *predicate.Reading, before *said) []Reason {
	for member, holds := range r.Members(rd) {
		rd.Only = member
		reason, known := before.find(r, rd, holds.Sure)
		if !known {
			reason = e.reason(r, rd, holds.Sure)
			reason.Facts = e.facts(r, rd)
		}
		if !known && r.ofClient && before != nil {
			*before = append(*before, saidOnce{r, rd.Side, member, holds.Sure, reason})
		}
		out = append(out, reason)
		rd.Only = -1
	}
	return out
}

// members yields the members of a rule's unrolled any that could make it hold, and how it comes out by each; -1 alone for
// a rule that has none, or that holds by another branch. A rule that can't hold has none. Of one that gives points and is
// sure, only the members that it is sure by: no other earns them.
func (r *Rule) Members(rd *predicate.Reading) iter.Seq2[int, client.Truth] {
	return func(yield func(int, client.Truth) bool) {
		whole := rd.Eval(r.When)
		if !whole.Possible {
			return
		}
		onlySure := whole.Sure && r.Points > 0
		some := false
		if r.Domain != nil {
			for i := range rd.Members(r.Domain) {
				if holds := rd.EvalOnly(r.When, i); holds.Sure || holds.Possible && !onlySure {
					some = true
					if !yield(i, holds) {
						return
					}
				}
			}
		}
		if !some {
			yield(-1, whole)
		}
	}
}

func (e *Edition) reason(r *Rule, rd *predicate.Reading, sure bool) Reason {
	reason := Reason{Rule: r.ID, Effect: strings.ToUpper(string(r.Effect)), Points: r.Points, Source: r.Source.Text, Standing: Holds,
		Side: string(client.Sides[rd.Side])}
	domainName, member := "", -1
	if r.Domain != nil && rd.Only >= 0 {
		domainName, member = r.Domain.Domain, rd.Only
		reason.Member = r.Domain.Witnesses[member]
		if sideWord(e.Frame.Vocabulary, domainName, reason.Member, rd.Side) == "" {
			reason.Side = ""
		}
	}
	switch {
	case sure:
		reason.Words = e.fill(r.Because, rd, domainName, reason.Member, member)
		return reason
	case r.Untested != nil:
		reason.Words = e.fill(r.Untested, rd, domainName, reason.Member, member)
	case e.figured(r.Because, rd, member):
		reason.Words = "Not ruled out: " + e.fill(r.Because, rd, domainName, reason.Member, member)
	default:
		reason.Words = "Not ruled out: " + strings.Join(e.missing(r, rd), ", ")
	}
	if reason.Standing = NotRuledOut; r.Effect == Bar {
		reason.Standing = Untested
	}
	return reason
}

// missing names what a rule reads of the client and nobody told.
func (e *Edition) missing(r *Rule, rd *predicate.Reading) []string {
	var names []string
	for _, f := range e.facts(r, rd) {
		if f.Status != "UNKNOWN" {
			continue
		}
		name, why := e.Frame.Table.Path(f.Path).Measure, f.Why
		if name == "" {
			name, why = strings.NewReplacer("client.", "", "request.", "", ".", " ", "_", " ").Replace(f.Path), "not told"
		}
		name = strings.TrimSpace(strings.ToLower(f.Side)+" "+name) + " (" + why + ")"
		if !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return names
}

// facts lists what a rule read of the client, as far as the member at hand goes, each once.
func (e *Edition) facts(r *Rule, rd *predicate.Reading) []Fact {
	refs := r.cited[rd.Only+1]
	out := make([]Fact, 0, len(refs))
	for _, ref := range refs {
		if f, ok := e.fact(ref, rd); ok {
			out = append(out, f)
		}
	}
	return out
}

// citedRefs lists the client's paths that a reason shows, each once: first for no member, then for each of them.
func (r *Rule) citedRefs() [][]*predicate.Ref {
	members := 0
	if r.Domain != nil {
		members = len(r.Domain.Kids)
	}
	all := make([][]*predicate.Ref, members+1)
	for member := -1; member < members; member++ {
		list := &all[member+1]
		r.refs(member, func(ref *predicate.Ref) {
			known := slices.ContainsFunc(*list, func(had *predicate.Ref) bool { return had.Name == ref.Name })
			if ref.Root == predicate.OfFacts && ref.Name != "side" && !strings.HasPrefix(ref.Name, "client.margin.") && !known {
				*list = append(*list, ref)
			}
		})
	}
	return all
}

// refs visits the paths of a rule; of its unrolled any those of one member, and none without a member.
func (r *Rule) refs(member int, visit func(*predicate.Ref)) {
	var walk func(n *predicate.Node)
	walk = func(n *predicate.Node) {
		switch {
		case n.Domain != "" && member >= 0 && n == r.Domain:
			walk(n.Kids[member])
			return
		case n.Domain != "":
			return
		}
		n.OwnRefs(visit)
		for _, k := range n.Kids {
			walk(k)
		}
	}
	walk(r.When)
}

// open is true of a yes-or-no, a word or a list that isn't settled.
func (e *Edition) open(ref *predicate.Ref, rd *predicate.Reading) bool {
	switch ref.Kind {
	case client.Number:
		return false
	case client.Bool:
		t := rd.Truth(ref)
		return t.Sure != t.Possible
	default:
		set := rd.Words(&predicate.Words{Ref: ref})
		return len(set.Sure) != len(set.Possible)
	}
}

func (e *Edition) fact(ref *predicate.Ref, rd *predicate.Reading) (Fact, bool) {
	f := Fact{Path: ref.Name, Unit: ref.Path.Unit, Status: "MEASURED"}
	if ref.Path.Sided {
		f.Side = string(client.Sides[rd.Side])
	}
	switch status := rd.Facts.Status[rd.Side][ref.Index]; {
	case status == client.Presumed:
		f.Status = "PRESUMED"
	case !status.Known() || e.open(ref, rd):
		f.Status, f.Why = "UNKNOWN", status.Why()
		return f, true
	}
	switch ref.Kind {
	case client.Number:
		s := rd.Number(ref)
		switch {
		case math.IsNaN(s.Lo):
			return f, false
		case ref.Region != "":
			f.Value, f.Unit = e.Frame.Ladder(ref.Region).RungName(int(s.Lo)), ""
		case !s.Known() && s.Hi < ref.Path.Hi:
			f.Value = fmt.Sprintf("%s to %s", Figure(s.Lo), Figure(s.Hi))
		case !s.Known():
			f.Value = fmt.Sprintf("%s or more", Figure(s.Lo))
		default:
			f.Value = Figure(s.Lo)
		}
	case client.Bool:
		f.Value = map[bool]string{true: "yes", false: "no"}[rd.Truth(ref).Sure]
	default:
		set := rd.Words(&predicate.Words{Ref: ref})
		if len(set.Possible) > 8 {
			return f, false
		}
		f.Value = strings.Join(set.Sure, ", ")
	}
	return f, true
}
