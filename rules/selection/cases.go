package selection

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	"drillwright/rules"
	"drillwright/rules/analysis"
	"drillwright/rules/client"
)

// Case is a case of the book whose client has been read.
type Case struct {
	*rules.Case
	Request *client.Request
}

// Outcome is how a case came out; without faults it passes.
type Outcome struct {
	Case   Case
	Faults []Fault
}

// Fault is one thing wanted of an answer that doesn't hold it.
type Fault struct {
	At          authored.Pos // of what was wanted
	Wanted, Got string
	Reasons     []string // why it came out so, in words
}

// RunCases answers every case on the edition and holds the answers against what is wanted. The coverage, unless it is nil,
// takes all of them in. The only error is the context's: what came out by then may be less than there is.
func RunCases(ctx context.Context, e *rules.Edition, cases []Case, coverage *analysis.Coverage) ([]Outcome, error) {
	all := coverage != nil
	if !all {
		coverage = analysis.NewCoverage(e)
	}
	var out []Outcome
	for _, c := range cases {
		out = append(out, runCase(ctx, e, c, coverage, all))
		if err := ctx.Err(); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// runCase runs one; without all, the coverage takes in only those whose wants ask it.
func runCase(ctx context.Context, e *rules.Edition, c Case, coverage *analysis.Coverage, all bool) Outcome {
	r := caseRun{e: e, c: c, q: waitedFor(ctx, c.Request), explained: map[string]*ExplainAnswer{}}
	r.run(coverage, all)
	slices.SortStableFunc(r.faults, func(a, b Fault) int {
		return cmp.Or(cmp.Compare(a.At.Line, b.At.Line), cmp.Compare(a.At.Col, b.At.Col))
	})
	return Outcome{c, r.faults}
}

// caseRun is one case on its way through.
type caseRun struct {
	e         *rules.Edition
	c         Case
	q         *client.Request
	head      *Header
	list      []listed // what the answer lists, best first
	explained map[string]*ExplainAnswer
	faults    []Fault
}

// listed is a drill that an answer lists.
type listed struct {
	id       string
	told     string // what stands beside it: points and tier, or the slot
	cautions []Reason
	doses    []SideDose
}

func (r *caseRun) fault(at authored.Pos, reasons []string, got, wanted string) {
	r.faults = append(r.faults, Fault{At: at, Wanted: wanted, Got: got, Reasons: reasons})
}

func (r *caseRun) run(coverage *analysis.Coverage, all bool) {
	if err := r.answer(); err != nil {
		r.fault(r.c.At, nil, err.Error(), "an answer")
		return
	}
	r.screening()
	r.picks()
	r.order()
	r.verdicts()
	r.cautions()
	r.doses()
	if all || len(r.c.Want.Holds) > 0 {
		r.holds(r.cover(coverage))
	}
	if len(r.c.Want.Silent) > 0 {
		r.silent()
	}
}

// answer asks the question of the case. Lists are the full ones.
func (r *caseRun) answer() error {
	switch ask := &r.c.Ask; {
	case ask.Substitute.Value != "":
		a, err := Substitute(r.e, r.q, Options{Limit: -1, Brief: true})
		if err != nil {
			return err
		}
		r.head = &a.Header
		for _, s := range a.Substitutes {
			r.list = append(r.list, listed{s.Drill.ID, fmt.Sprintf("%d points, %s", s.Points, s.Tier), s.Cautions, s.Sides})
		}
	case ask.Select.Value != "":
		a, err := Select(r.e, r.q, ask.Select.Value, Options{Brief: true})
		if err != nil {
			return err
		}
		r.head = &a.Header
		for _, d := range a.Drills {
			r.list = append(r.list, listed{d.Drill.ID, d.Slot, d.Cautions, d.Sides})
		}
	case ask.Explain.Value != "":
		a, err := explain(r.e, r.q, ask.Explain.Value, unopened)
		if err != nil {
			return err
		}
		r.head, r.explained[ask.Explain.Value] = &a.Header, a
	default:
		a, err := Screen(r.e, r.q)
		if err != nil {
			return err
		}
		r.head = &a.Header
	}
	return nil
}

// screening holds what is wanted of the answer as a whole.
func (r *caseRun) screening() {
	s, w := &r.head.Screening, &r.c.Want
	said := r.screened()
	if w.Outcome.Value != "" && strings.ToUpper(w.Outcome.Value) != s.Outcome {
		r.fault(w.Outcome.At, said, strings.ToLower(s.Outcome), w.Outcome.Value)
	}
	if w.NoDrills && !s.NoDrills {
		r.fault(w.At, said, "drills may be trained", "no drills at all")
	}
	for _, want := range w.Refer {
		if !slices.ContainsFunc(s.Referrals, func(have Referral) bool { return matches(want, have) }) {
			r.fault(want.At, said, "no such referral", "a referral"+referralWords(want))
		}
	}
	for _, id := range w.Questions {
		if !slices.ContainsFunc(s.Questions, func(q Question) bool { return q.ID == id.Value }) {
			r.fault(id.At, said, "it is not asked", "the question "+id.Value)
		}
	}
	for _, id := range w.Advice {
		if !slices.ContainsFunc(r.head.Cautions, func(c Caution) bool { return c.Rule == id.Value }) {
			r.fault(id.At, nil, "it is not there", "the caution "+id.Value+" of the answer as a whole")
		}
	}
}

func matches(want rules.CaseRefer, have Referral) bool {
	return (want.Rule.Value == "" || want.Rule.Value == have.Rule) &&
		(want.Urgency.Value == "" || strings.ToUpper(want.Urgency.Value) == have.Urgency) &&
		(want.Scope.Value == "" || strings.ToUpper(want.Scope.Value) == have.Scope)
}

func referralWords(want rules.CaseRefer) string {
	words := ""
	for _, part := range [][2]string{{" by ", want.Rule.Value}, {", urgency ", want.Urgency.Value}, {", scope ", want.Scope.Value}} {
		if part[1] != "" {
			words += part[0] + part[1]
		}
	}
	return words
}

// screened is what screening says, a line each.
func (r *caseRun) screened() []string {
	var out []string
	for _, f := range r.head.Screening.Referrals {
		out = append(out, fmt.Sprintf("%s, %s: %s", f.Rule, strings.ToLower(f.Urgency), f.Words))
	}
	var asked []string
	for _, q := range r.head.Screening.Questions {
		asked = append(asked, q.ID)
	}
	if len(asked) > 0 {
		out = append(out, "still to be asked: "+strings.Join(asked, ", "))
	}
	return out
}

// place is where a drill stands in the list, from 1; 0 when it doesn't.
func (r *caseRun) place(id string) int {
	return slices.IndexFunc(r.list, func(l listed) bool { return l.id == id }) + 1
}

// stands says where a drill stands in the list.
func (r *caseRun) stands(id string) string {
	if at := r.place(id); at > 0 {
		return fmt.Sprintf("%s stands at %d (%s)", id, at, r.list[at-1].told)
	}
	return id + " is not listed"
}

func (r *caseRun) picks() {
	w := &r.c.Want
	if first := w.First; first.Value != "" && r.place(first.Value) != 1 {
		got := r.stands(first.Value)
		if len(r.list) > 0 {
			got += "; " + r.stands(r.list[0].id)
		}
		r.fault(first.At, r.whyNot(first.Value), got, first.Value+" first")
	}
	for _, id := range w.Picks {
		if r.place(id.Value) == 0 {
			r.fault(id.At, r.whyNot(id.Value), r.stands(id.Value), id.Value+" listed")
		}
	}
	for _, id := range w.Never {
		if r.place(id.Value) > 0 {
			r.fault(id.At, nil, r.stands(id.Value), id.Value+" not listed")
		}
	}
}

// order: every drill of a group stands before every drill of the next.
func (r *caseRun) order() {
	last, behind := 0, ""
	for _, group := range r.c.Want.Order {
		lowest, lowestID := last, behind
		for _, id := range group {
			at := r.place(id.Value)
			switch {
			case at == 0:
				r.fault(id.At, r.whyNot(id.Value), r.stands(id.Value), id.Value+" listed")
			case at < last:
				r.fault(id.At, nil, r.stands(id.Value)+"; "+r.stands(behind), id.Value+" after "+behind)
			case at > lowest:
				lowest, lowestID = at, id.Value
			}
		}
		last, behind = lowest, lowestID
	}
	for _, id := range r.c.Want.Behind {
		if at := r.place(id.Value); at > 0 && at < last {
			r.fault(id.At, nil, r.stands(id.Value)+"; "+r.stands(behind), id.Value+" after "+behind)
		}
	}
}

// explain looks at one drill; a drill that isn't there is a fault.
func (r *caseRun) explain(id authored.Text) *ExplainAnswer {
	if a := r.explained[id.Value]; a != nil {
		return a
	}
	a, err := explain(r.e, r.q, id.Value, unopened)
	if err != nil {
		r.fault(id.At, nil, err.Error(), id.Value+" in the catalogue")
		return nil
	}
	r.explained[id.Value] = a
	return a
}

// sides are those that the case looks at.
func (r *caseRun) sides(a *ExplainAnswer) []SideExplained {
	switch r.c.Ask.Side.Value {
	case "LEFT":
		return a.Sides[:1]
	case "RIGHT":
		return a.Sides[1:]
	}
	return a.Sides
}

// verdict is that on the side asked for, else on the drill as a whole.
func (r *caseRun) verdict(a *ExplainAnswer) string {
	if r.c.Ask.Side.Value != "" {
		return r.sides(a)[0].Verdict
	}
	return a.Verdict
}

func (r *caseRun) verdicts() {
	w := &r.c.Want
	for _, of := range []struct {
		ids     []authored.Text
		verdict rules.Verdict
		words   string
	}{{w.Open, rules.Open, " open"}, {w.Test, rules.TestFirst, " to be tested first"}} {
		for _, id := range of.ids {
			if a := r.explain(id); a != nil && r.verdict(a) != string(of.verdict) {
				r.fault(id.At, r.whyNot(id.Value), verdictWords(id.Value, r.verdict(a)), id.Value+of.words)
			}
		}
	}
	for _, id := range w.Barred {
		r.barred(id, "")
	}
	for _, e := range w.BarredBy {
		for _, id := range e.Value {
			r.barred(id, e.Key)
		}
	}
}

func verdictWords(id, verdict string) string {
	switch rules.Verdict(verdict) {
	case rules.Open:
		return id + " is open"
	case rules.TestFirst:
		return id + " waits for a test"
	}
	return id + " is barred"
}

// barred wants a drill barred, by the rule if one is named, and not listed.
func (r *caseRun) barred(id authored.Text, rule string) {
	a := r.explain(id)
	if a == nil {
		return
	}
	by, wanted := r.bars(a), id.Value+" barred"
	if rule != "" {
		wanted += " by " + rule
	}
	switch {
	case len(by) == 0:
		r.fault(id.At, r.whyNot(id.Value), verdictWords(id.Value, r.verdict(a)), wanted)
	case rule != "" && !slices.Contains(by, rule):
		r.fault(id.At, r.whyNot(id.Value), id.Value+" is barred by "+strings.Join(by, ", "), wanted)
	case r.c.Ask.Side.Value == "" && r.place(id.Value) > 0:
		r.fault(id.At, r.whyNot(id.Value), r.stands(id.Value), wanted)
	}
}

// bars lists the rules that bar a drill on the sides looked at, each once.
func (r *caseRun) bars(a *ExplainAnswer) []string {
	var ids []string
	for _, side := range r.sides(a) {
		for _, o := range side.Rules {
			if o.Verdict == string(rules.NotToday) && !slices.Contains(ids, o.Reason.Rule) {
				ids = append(ids, o.Reason.Rule)
			}
		}
	}
	return ids
}

// whyNot says in words what bars a drill, or what it waits for.
func (r *caseRun) whyNot(id string) []string {
	a := r.explain(authored.Text{Value: id, At: r.c.Want.At})
	if a == nil {
		return nil
	}
	var out []string
	for _, side := range r.sides(a) {
		for _, o := range side.Rules {
			if o.Verdict == string(rules.NotToday) || o.Verdict == string(rules.TestFirst) {
				out = append(out, reasonWords(o.Reason))
			}
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

func reasonWords(reason Reason) string {
	if reason.Rule == "" {
		return reason.Words
	}
	return reason.Rule + ": " + reason.Words
}

// cautions of a drill are those that stand beside it in the answer; of one that isn't listed, those of the sides looked at.
func (r *caseRun) cautions() {
	for _, e := range r.c.Want.Cautions {
		for _, id := range e.Value {
			have := r.warnings(id)
			if !slices.ContainsFunc(have, func(reason Reason) bool { return reason.Rule == e.Key }) {
				var words []string
				for _, reason := range have {
					words = append(words, reasonWords(reason))
				}
				r.fault(id.At, words, r.stands(id.Value)+", without it", id.Value+" with the caution "+e.Key)
			}
		}
	}
}

func (r *caseRun) warnings(id authored.Text) []Reason {
	if at := r.place(id.Value); at > 0 {
		return r.list[at-1].cautions
	}
	a := r.explain(id)
	if a == nil {
		return nil
	}
	var out []Reason
	for _, side := range r.sides(a) {
		for _, o := range side.Rules {
			if o.Reason.Effect == "CAUTION" || o.Verdict == string(rules.Open) { // a bar that a clearance covers is a caution
				out = append(out, o.Reason)
			}
		}
	}
	return unique(out)
}

func (r *caseRun) doses() {
	for _, e := range r.c.Want.Doses {
		for _, id := range e.Value {
			if have := r.dosesOf(id); !slices.Contains(have, e.Key) {
				got := "no dose"
				if len(have) > 0 {
					got = "the dose " + strings.Join(have, ", ")
				}
				r.fault(id.At, r.whyNot(id.Value), got, id.Value+" with the dose "+e.Key)
			}
		}
	}
}

func (r *caseRun) dosesOf(id authored.Text) []string {
	var out []string
	if at := r.place(id.Value); at > 0 {
		for _, d := range r.list[at-1].doses {
			out = append(out, d.Dose.Rule, d.Dose.With)
		}
	} else if a := r.explain(id); a != nil {
		for _, side := range r.sides(a) {
			if side.Dose != nil {
				out = append(out, side.Dose.Rule, side.Dose.With)
			}
		}
	}
	slices.Sort(out)
	return slices.DeleteFunc(slices.Compact(out), func(id string) bool { return id == "" })
}

// holds wants rules to be among those that hold where it counts.
func (r *caseRun) holds(held []*rules.Rule) {
	for _, id := range r.c.Want.Holds {
		if !slices.ContainsFunc(held, func(rule *rules.Rule) bool { return rule.ID == id.Value }) {
			r.fault(id.At, r.screened(), "it holds for nothing that it counts for", "the rule "+id.Value+" to hold")
		}
	}
}

// cover takes the facts, as the question reads them, into the coverage, and returns the rules that hold.
func (r *caseRun) cover(coverage *analysis.Coverage) []*rules.Rule {
	a, lift := r.again()
	defer a.done()
	if a.permitted.none || r.c.Ask.Screen {
		return coverage.Screened(a.facts)
	}
	return coverage.Judged(a.facts, lift, func(d *catalog.Drill, side int) bool {
		_, open := a.permitted.allows(r.e, d, side)
		return !open
	})
}

// again is the question once more, with the facts as it reads them, and the lift that it names or nil. It was answered, so it
// can be asked.
func (r *caseRun) again() (*asked, *catalog.Drill) {
	a, err := ask(r.e, r.q, nil)
	if err != nil {
		panic(fmt.Sprintf("ask again what was answered: %v", err))
	}
	lift := r.e.Catalogue.Drill(r.q.Lift)
	switch plan := r.e.Book.Plan(r.c.Ask.Select.Value); {
	case lift != nil:
		a.provoke(lift)
	case plan != nil && r.q.Minutes == 0:
		a.setMinutes(plan.Minutes)
		a.spare()
	default:
		a.spare()
	}
	return a, lift
}

// silent wants rules to hold for nothing, not even as far as can be told: a referral or a caution of the answer as a whole
// isn't raised; any other rule could hold for no drill on no side.
func (r *caseRun) silent() {
	a, lift := r.again()
	defer a.done()
	j := r.e.Judge(a.facts, lift)
	defer j.Done()
	for _, id := range r.c.Want.Silent {
		rule := r.e.Book.Rule(id.Value)
		if rule == nil { // a rule that is gone is silent
			continue
		}
		if got := r.heard(a, j, rule); got != "" {
			r.fault(id.At, nil, got, "the rule "+id.Value+" silent")
		}
	}
}

// heard is the first thing that a rule holds for, or could; "" when there is none.
func (r *caseRun) heard(a *asked, j *rules.Judgement, rule *rules.Rule) string {
	if rule.Effect == rules.Refer || rule.Effect == rules.Advise {
		for raised := range r.e.Advisories([]*rules.Rule{rule}, a.facts) {
			return "it is raised: " + raised.Reason.Words
		}
		return ""
	}
	for _, d := range r.e.Catalogue.Drills {
		for side := range 2 {
			at := d.ID + " on the " + strings.ToLower(string(client.Sides[side]))
			switch held := j.Held(rule, d, side); {
			case held&rules.Sure != 0:
				return "it holds for " + at
			case held&rules.Possible != 0:
				return "it could hold for " + at
			}
		}
	}
	return ""
}
