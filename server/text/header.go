package text

import (
	"strconv"
	"strings"

	v1 "drillwright/proto/drillwright/v1"
)

// heading names what was asked, of whom and for which day.
func (p *Page) heading(what string, h *v1.AnswerHeader) {
	words := what
	if h.GetRef() != "" {
		words += ", for " + h.GetRef()
	}
	p.title(words + ", on " + h.GetAsOf())
}

// screening is the first thing of every answer: whom to see, then what is still to be asked.
func (p *Page) screening(h *v1.AnswerHeader) {
	s := h.GetScreening()
	switch s.GetOutcome() {
	case v1.Outcome_NO_WARNING_SIGNS_FOUND:
		p.section("Warning signs")
		p.line(2, "No warning signs found in what was asked.")
	case v1.Outcome_SEE_PROFESSIONAL_FIRST:
		p.section("See a professional first")
		p.referrals(s.GetReferrals(), h.GetCall())
	default:
		p.section("Warning signs")
		p.line(2, "Not settled: questions are open.")
	}
	if s.GetNoDrills() {
		p.alarm(2, noDrills(s))
	} else {
		p.unloaded(s.GetUnloaded())
	}
	p.questions(s.GetQuestions())
	p.tellFirst(h.GetTellFirst())
}

func (p *Page) tellFirst(t *v1.TellFirst) {
	if len(t.GetFacts()) == 0 {
		return
	}
	p.section("Ask for this first")
	for i, f := range t.GetFacts() {
		p.item(2, strconv.Itoa(i+1)+".", sentence(f.GetAsks()))
		p.quiet(5, "("+f.GetField()+")")
	}
	if n := t.GetOpens(); n > 0 {
		p.line(2, "If nothing in the answers speaks against it, "+count(n, "drill")+
			" would come out better than today: open, or to be tested first.")
	}
}

func noDrills(s *v1.ScreeningResult) string {
	for _, r := range s.GetReferrals() {
		if r.GetUrgency() == v1.Urgency_EMERGENCY || r.GetUrgency() == v1.Urgency_TODAY {
			return "No drills today."
		}
	}
	return "No drills until the questions below are answered."
}

func (p *Page) referrals(list []*v1.Referral, call string) {
	for _, r := range list {
		head := urgencies[r.GetUrgency()]
		if r.GetUrgency() == v1.Urgency_EMERGENCY && call != "" {
			head += ": call " + call
		}
		p.alarm(2, head)
		p.line(4, cited(r.GetWords(), r.GetSource()))
		if until := untilSeen(r); until != "" {
			p.line(4, until)
		}
	}
}

// untilSeen says what a referral stops where it doesn't stop everything.
func untilSeen(r *v1.Referral) string {
	if r.GetUrgency() == v1.Urgency_EMERGENCY || r.GetUrgency() == v1.Urgency_TODAY {
		return ""
	}
	switch r.GetScope() {
	case v1.Scope_REGION:
		return "Until then: no load on the " + position(r.GetSide(), r.GetRegion()) + "."
	case v1.Scope_CLASS:
		return "Until then: none of the drills that this is about."
	default:
		return "Until then: nothing under load."
	}
}

// unloaded joins what one rule leaves without load.
func (p *Page) unloaded(list []*v1.Unloaded) {
	var rules []string
	places := map[string][]string{}
	for _, u := range list {
		what := position(u.GetSide(), u.GetRegion())
		if what == "" {
			what = "everything"
		}
		if places[u.GetWhy()] == nil {
			rules = append(rules, u.GetWhy())
		}
		places[u.GetWhy()] = append(places[u.GetWhy()], what)
	}
	for _, rule := range rules {
		p.line(2, "Moved without load only, for now: "+enumerated(places[rule])+" (rule "+rule+").")
	}
}

func (p *Page) questions(list []*v1.Question) {
	if len(list) == 0 {
		return
	}
	p.section("Questions still to ask")
	for i, q := range list {
		p.item(2, strconv.Itoa(i+1)+".", sentence(q.GetAsks()))
		if strings.HasPrefix(q.GetId(), "profile.") || q.GetId() == "complaints" {
			p.quiet(5, "("+q.GetId()+")")
			continue
		}
		note := "(" + q.GetId() + "; if yes: " + ifYes[q.GetUrgency()] + ")"
		if q.GetContradicted() {
			note = "(" + q.GetId() + ", with complaint_in_view: true; if yes: " + ifYes[q.GetUrgency()] + ")"
		}
		p.quiet(5, note)
	}
}

// closing is the end of every answer: what to measure, what was taken for granted, cautions, whom to call, receipt.
func (p *Page) closing(h *v1.AnswerHeader) {
	p.measureNext(h.GetMeasureNext())
	p.presumed(h.GetPresumed())
	p.bullets("Not told, and how it was taken", h.GetNotes())
	p.cautions(h.GetCautions())
	if h.GetCall() != "" {
		p.section("In an emergency")
		p.line(2, "Call "+h.GetCall()+".")
	}
	p.section("Receipt")
	r := h.GetReceipt()
	p.quiet(2, "revision "+r.GetRevision()+", engine "+r.GetEngine()+", request "+r.GetRequestDigest())
}

func (p *Page) measureNext(list []*v1.MeasureNext) {
	if len(list) == 0 {
		return
	}
	p.section("What to measure next")
	for i, m := range list {
		p.item(2, strconv.Itoa(i+1)+".", sentence(position(m.GetSide(), "")+" "+m.GetWords()+": a normal value opens "+count(m.GetOpens(),
			"drill")))
		if m.GetHow() != "" {
			p.quiet(5, "How: "+sentence(m.GetHow()))
		}
	}
}

// presumed is one paragraph: it may name every motion of the body.
func (p *Page) presumed(list []string) {
	if len(list) == 0 {
		return
	}
	p.section("Presumed, not measured")
	p.quiet(2, sentence(strings.Join(bothSides(list), "; ")))
}

// bothSides joins what is said of the left and then, alike, of the right.
func bothSides(list []string) []string {
	var out []string
	for i := 0; i < len(list); i++ {
		what, left := strings.CutPrefix(list[i], "left ")
		if left && i+1 < len(list) && list[i+1] == "right "+what {
			out = append(out, what+", both sides")
			i++
			continue
		}
		out = append(out, list[i])
	}
	return out
}

func (p *Page) bullets(name string, lines []string) {
	if len(lines) == 0 {
		return
	}
	p.section(name)
	for _, l := range lines {
		p.item(2, "-", sentence(l))
	}
}

func (p *Page) cautions(list []*v1.Notice) {
	var lines []string
	for _, n := range list {
		words := n.GetWords()
		if n.GetNotRuledOut() {
			words = notRuledOut(words)
		}
		lines = append(lines, words)
	}
	p.bullets("Cautions and when to stop", lines)
}
