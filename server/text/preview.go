package text

import (
	"fmt"
	"slices"
	"strings"

	"google.golang.org/protobuf/proto"

	v1 "drillwright/proto/drillwright/v1"
)

// Preview writes what a draft would change, and last the command that publishes it, in one line whatever its length.
func (p *Page) Preview(v *v1.Previewed, publish string) {
	p.title("From revision " + v.GetBaseRevision() + " to " + v.GetDraftRevision())
	p.churn(v.GetChurn())
	if v.GetChurn().GetAnswersChanged() == 0 && slices.ContainsFunc(v.GetParts(), decides) {
		p.line(2, "None of these clients shows what was edited. book cases --propose finds one who does; --clients asks of yours.")
	}
	p.parts(v.GetParts())
	p.newDrills(v.GetNewDrills())
	lost := func(a *v1.AnswerChange) bool { return a.GetLosesFirstPick() }
	p.answers("They lose what was picked", v.GetChanges(), lost)
	p.answers("Other answers that change", v.GetChanges(), func(a *v1.AnswerChange) bool { return !lost(a) })
	if more := v.GetChangesLeftOut(); more > 0 {
		p.quiet(2, fmt.Sprintf("and %s more", count(more, "answer")))
	}
	p.failedCases(v)
	p.section("To publish it")
	p.field(2, "Base", v.GetBaseRevision())
	p.field(2, "Preview", v.GetDigest())
	p.out.WriteString(publish + "\n")
}

func (p *Page) churn(c *v1.Churn) {
	p.section("How much changes")
	if c.GetAnswersChanged() == 0 {
		p.line(2, fmt.Sprintf("Nothing: %s of %s stay as they are.", count(c.GetAnswers(), "answer"), count(c.GetClients(), "sample client")))
		return
	}
	of := func(n, all int32) string { return fmt.Sprintf("%d of %d", n, all) }
	p.field(2, "Clients", of(c.GetClientsChanged(), c.GetClients()))
	p.field(2, "Lose a pick", count(c.GetClientsLosingFirstPick(), "client"))
	p.field(2, "Answers", of(c.GetAnswersChanged(), c.GetAnswers())+budget(c))
	p.field(2, "First picks", figure(float64(c.GetFirstPicksChanged())))
	p.field(2, "Verdicts", figure(float64(c.GetVerdictsChanged())))
}

func budget(c *v1.Churn) string {
	switch {
	case c.BudgetPercent == nil:
		return ""
	case c.GetAboveBudget():
		return "; that is above the budget of " + figure(c.GetBudgetPercent()) + " %: publishing it needs --accept-churn"
	default:
		return "; the budget is " + figure(c.GetBudgetPercent()) + " %"
	}
}

// decides is whether a part that was edited is one that answers hang on.
func decides(part *v1.PartChange) bool {
	return slices.Contains([]string{"rule", "dose", "caution"}, part.GetKind())
}

// newDrills says of each in how many answers it is open, and so on; what is none is left out.
func (p *Page) newDrills(list []*v1.NewDrill) {
	if len(list) == 0 {
		return
	}
	p.section("Drills that are new, in the answers that give a substitute or a session")
	for _, n := range list {
		var parts []string
		for _, part := range []struct {
			words string
			n     int32
		}{{"open in ", n.GetOpen()}, {"to be tested first in ", n.GetTestFirst()}, {"not today in ", n.GetNotToday()},
			{"picked in ", n.GetPicked()}} {
			if part.n > 0 {
				parts = append(parts, part.words+figure(float64(part.n)))
			}
		}
		p.line(2, n.GetDrill()+": "+strings.Join(parts, ", "))
	}
}

func (p *Page) answers(name string, all []*v1.AnswerChange, wanted func(*v1.AnswerChange) bool) {
	var last *v1.AnswerChange
	for _, a := range all {
		if !wanted(a) {
			continue
		}
		if last == nil {
			p.section(name)
		} else {
			p.out.WriteByte('\n')
		}
		p.write("  ", "    ", a.GetClient()+": "+a.GetQuestion(), bold)
		p.answer(a, last)
		last = a
	}
}

// answer writes a change. Verdicts that are those of the answer before, of the same client, aren't written again.
func (p *Page) answer(a, last *v1.AnswerChange) {
	if a.GetFault() != "" {
		p.alarm(4, sentence(a.GetFault()))
	}
	if s := a.GetScreening(); s != nil {
		p.before(4, outcome(s.GetBefore(), s.GetNoDrillsBefore()))
		p.after(4, outcome(s.GetAfter(), s.GetNoDrillsAfter()))
		p.by(s.GetRules())
	}
	if f := a.GetFirstPick(); f != nil {
		p.picks(f)
	}
	if len(a.GetVerdicts()) > 0 && a.GetClient() == last.GetClient() && a.GetVerdictsChanged() == last.GetVerdictsChanged() &&
		slices.EqualFunc(a.GetVerdicts(), last.GetVerdicts(), func(x, y *v1.VerdictChange) bool { return proto.Equal(x, y) }) {
		p.quiet(4, "the same verdicts change as above")
		return
	}
	for _, g := range grouped(a.GetVerdicts()) {
		p.before(4, verdictWord(g.before))
		p.after(4, verdictWord(g.after)+": "+some(g.drills))
		p.by(g.rules)
	}
	if more := int(a.GetVerdictsChanged()) - len(a.GetVerdicts()); more > 0 {
		p.quiet(4, fmt.Sprintf("and %s more", count(int32(more), "verdict")))
	}
}

func (p *Page) by(rules []string) {
	if len(rules) > 0 {
		p.line(6, "by "+enumerated(rules))
	}
}

func outcome(o v1.Outcome, noDrills bool) string {
	words := map[v1.Outcome]string{
		v1.Outcome_NO_WARNING_SIGNS_FOUND: "no warning signs found",
		v1.Outcome_SEE_PROFESSIONAL_FIRST: "see a professional first",
		v1.Outcome_QUESTIONS_FIRST:        "questions are open",
	}[o]
	if noDrills {
		words += ", no drills"
	}
	return words
}

// picks leaves out what stays in a session, unless only the order changes.
func (p *Page) picks(f *v1.PickChange) {
	without := func(list, other []string) []string {
		return slices.DeleteFunc(slices.Clone(list), func(id string) bool { return slices.Contains(other, id) })
	}
	gone, come := without(f.GetBefore(), f.GetAfter()), without(f.GetAfter(), f.GetBefore())
	if len(gone)+len(come) == 0 {
		gone, come = f.GetBefore(), f.GetAfter()
	}
	picks := "picks " + orNothing(come)
	if len(come) == 0 && len(f.GetAfter()) > 0 {
		picks += " in their place, and keeps the others"
	}
	p.before(4, "picked "+orNothing(gone))
	p.after(4, picks)
	p.by(f.GetRules())
}

func orNothing(ids []string) string {
	if len(ids) == 0 {
		return "nothing"
	}
	return strings.Join(ids, ", ")
}

func verdictWord(v v1.Verdict) string {
	if v == v1.Verdict_VERDICT_UNSPECIFIED {
		return "not in the catalogue any more"
	}
	return verdicts[v]
}

// verdictGroup is what changes alike, by the same rules.
type verdictGroup struct {
	before, after v1.Verdict
	rules         []string
	drills        []string
}

// grouped joins verdicts that change alike, in the order in which each kind comes first.
func grouped(list []*v1.VerdictChange) []*verdictGroup {
	var groups []*verdictGroup
	for i, v := range list {
		at := slices.IndexFunc(groups, func(g *verdictGroup) bool {
			return g.before == v.GetBefore() && g.after == v.GetAfter() && slices.Equal(g.rules, v.GetRules())
		})
		if at < 0 {
			at, groups = len(groups), append(groups, &verdictGroup{v.GetBefore(), v.GetAfter(), v.GetRules(), nil})
		}
		g := groups[at]
		switch left := v.GetDrill() + " left"; {
		case v.GetSide() == "BOTH":
			g.drills = append(g.drills, v.GetDrill())
		case v.GetSide() == "RIGHT" && i > 0 && len(g.drills) > 0 && g.drills[len(g.drills)-1] == left:
			g.drills[len(g.drills)-1] = v.GetDrill() + " both sides"
		default:
			g.drills = append(g.drills, v.GetDrill()+" "+sideWord(v.GetSide()))
		}
	}
	return groups
}

// some names a dozen at most.
func some(drills []string) string {
	const most = 12
	if len(drills) <= most {
		return strings.Join(drills, ", ")
	}
	return strings.Join(drills[:most], ", ") + fmt.Sprintf(" and %d more", len(drills)-most)
}

func (p *Page) failedCases(v *v1.Previewed) {
	if len(v.GetFailedCases()) == 0 {
		return
	}
	p.section(fmt.Sprintf("Cases that fail: %d of %d. While one does, the draft can't be published.", len(v.GetFailedCases()), v.GetCases()))
	for _, c := range v.GetFailedCases() {
		p.alarm(2, fmt.Sprintf("%s, at %s:%d", c.GetCase(), c.GetFile(), c.GetLine()))
		for _, line := range c.GetLines() {
			p.line(4, line)
		}
	}
}
