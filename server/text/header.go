package text

import (
	"strconv"
	"strings"

	pb "drillwright/proto/drillwright/v1"
)

// heading names what was asked, of whom and for which day.
func (p *Page) heading(what string, h *pb.AnswerHeader) {
	words := what
	if h.GetRef() != "" {
		words += ", for " + h.GetRef()
	}
	p.title(words + ", on " + h.GetAsOf())
}

// screening is the first thing of every answer: whom to see, then what is still to be asked.
func (p *Page) screening(h *pb.AnswerHeader) {
	s := h.GetScreening()
	switch s.GetOutcome() {
	case pb.Outcome_NO_WARNING_SIGNS_FOUND:
		p.section("Screening")
		p.line(2, "No warning signs found in what was asked.")
	case pb.Outcome_SEE_PROFESSIONAL_FIRST:
		p.section("See a professional first")
		p.referrals(s.GetReferrals(), h.GetCall())
	default:
		p.section("Screening")
		p.line(2, "Not settled: the questions below come first.")
	}
	if s.GetNoDrills() {
		p.alarm(2, noDrills(s))
	}
	p.unloaded(s.GetUnloaded())
	p.questions(s.GetQuestions())
}

func noDrills(s *pb.ScreeningResult) string {
	if len(s.GetReferrals()) > 0 {
		return "No drills today."
	}
	return "No drills until these questions are answered."
}

func (p *Page) referrals(list []*pb.Referral, call string) {
	for _, r := range list {
		head := urgencies[r.GetUrgency()]
		if r.GetUrgency() == pb.Urgency_EMERGENCY && call != "" {
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
func untilSeen(r *pb.Referral) string {
	if r.GetUrgency() == pb.Urgency_EMERGENCY || r.GetUrgency() == pb.Urgency_TODAY {
		return ""
	}
	switch r.GetScope() {
	case pb.Scope_REGION:
		return "Until then: no load on the " + place(r.GetSide(), r.GetRegion()) + "."
	case pb.Scope_CLASS:
		return "Until then: none of the drills that this is about."
	default:
		return "Until then: nothing under load."
	}
}

func (p *Page) unloaded(list []*pb.Unloaded) {
	for _, u := range list {
		what := "the " + place(u.GetSide(), u.GetRegion())
		if u.GetRegion() == "" {
			what = "everything"
		}
		p.line(2, "Without load for now: "+what+" (rule "+u.GetWhy()+").")
	}
}

func (p *Page) questions(list []*pb.Question) {
	if len(list) == 0 {
		return
	}
	p.section("Questions still to ask")
	for i, q := range list {
		about := strings.ToLower(urgencies[q.GetUrgency()])
		if q.GetRegion() != "" {
			about += "; " + plain(q.GetRegion())
		}
		p.item(2, strconv.Itoa(i+1)+".", sentence(q.GetAsks()))
		p.quiet(5, "answers: "+q.GetId()+"; a yes means: see someone, "+about)
	}
}

// closing is the end of every answer: what to measure, what was taken for granted, cautions, whom to call, receipt.
func (p *Page) closing(h *pb.AnswerHeader) {
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

func (p *Page) measureNext(list []*pb.MeasureNext) {
	if len(list) == 0 {
		return
	}
	p.section("What to measure next")
	for i, m := range list {
		p.item(2, strconv.Itoa(i+1)+".", sentence(place(m.GetSide(), "")+" "+m.GetWords()+": a normal value opens "+count(m.GetOpens(), "drill")))
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
	p.line(2, sentence(strings.Join(list, "; ")))
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

func (p *Page) cautions(list []*pb.Notice) {
	var lines []string
	for _, n := range list {
		words := n.GetWords()
		if n.GetNotRuledOut() {
			words = "Not ruled out: " + words
		}
		lines = append(lines, words)
	}
	p.bullets("Cautions and when to stop", lines)
}
