package selection

import (
	"fmt"
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
)

// TellFirst are the few facts that would change an answer, and how many drills would be better off, told as they are of a complaint
// that settles: from not today to test first, or from either to open; of those near the lift, or of all where there is none.
type TellFirst struct {
	Facts []Telling
	Opens int
}

// Telling is a field to send, and what to ask for it.
type Telling struct{ Field, Asks string }

// mostAnswers is how many answers are asked for one by one; of more, the lists are named.
const mostAnswers = 3

// tellFirst looks for what wasn't told of complaints that are mild but for it, or of which scores are presumed, and what that opens of
// some drills, which are asked for only then.
func (a *asked) tellFirst(j *rules.Judgement, lift *catalog.Drill, drills func() []*catalog.Drill) *TellFirst {
	lacks := a.derived.Lacks()
	if len(lacks) == 0 || a.head.Screening.emergency() {
		return nil
	}
	out := &TellFirst{Facts: a.tellings(lacks)}
	if of := drills(); len(of) > 0 && !a.q.Abandoned() {
		out.Opens = a.wouldOpen(j, lift, a.derived.Completed(lacks), of)
	}
	return out
}

// tellings are the fields in order; several questions of a complaint are one line.
func (a *asked) tellings(lacks []client.Lack) []Telling {
	var out []Telling
	var questions, lists []string
	for _, l := range lacks {
		switch {
		case l.Complaint > 0:
			at := slices.Index(a.sent.Complaints, a.q.Complaints[l.Complaint-1])
			out = append(out, Telling{fmt.Sprintf("complaints[%d].%s", at, l.Field), complaintAsks[l.Field]})
		case l.Question != nil:
			questions = append(questions, l.Question.ID)
			if !slices.Contains(lists, l.Question.List) {
				lists = append(lists, l.Question.List)
			}
		case l.Field == parts["pain"].field:
			out = append(out, Telling{l.Field, parts["pain"].asks})
		default:
			out = append(out, Telling{l.Field, parts["age"].asks})
		}
	}
	if len(questions) > mostAnswers {
		return append(out, Telling{"profile.screening", "Ask the questions of these lists: " + strings.Join(lists, ", ") + "."})
	}
	for _, id := range questions {
		out = append(out, Telling{fmt.Sprintf("profile.answers[%q]", id), a.e.Frame.Question(id).Asks})
	}
	return out
}

// complaintAsks are what to ask for the fields of a complaint.
var complaintAsks = map[string]string{
	"kind":   "How does it feel?",
	"onset":  "How did it begin: gradually, suddenly, or with an injury?",
	"days":   "How many days ago did it begin?",
	"moment": "At which moment of the lift does it hurt, or after it, the next day, always?",
}

// wouldOpen counts those of some drills that come out better for another request. Without a judgement nothing may be trained.
func (a *asked) wouldOpen(j *rules.Judgement, lift *catalog.Drill, reported *client.Request, of []*catalog.Drill) int {
	other := &asked{e: a.e, q: reported, facts: client.Derive(a.e.Frame, reported)}
	other.derived = other.facts
	defer other.derived.Done()
	if other.head.Screening, other.permitted = screen(a.e, other.facts); other.permitted.none {
		return 0
	}
	other.readLog()
	other.allowed(lift)
	judge := a.e.Judge
	if len(of) == 1 {
		judge = a.e.JudgeOne
	}
	then := judge(other.facts, lift)
	defer then.Done()
	n := 0
	for i, d := range of {
		before, after := rules.NotToday, other.verdictOf(then, d)
		if j != nil {
			before = a.verdictOf(j, d)
		}
		if after != before && rules.Together(after, before) == before {
			n++
		}
		if i%client.Stride == 0 && a.q.Abandoned() {
			break
		}
	}
	return n
}

// verdictOf is the verdict on a drill as a whole, with what screening and its load close.
func (a *asked) verdictOf(j *rules.Judgement, d *catalog.Drill) rules.Verdict {
	came := rules.DrillResult{Drill: d.Index}
	for side := range 2 {
		v := j.Verdict(d, side)
		came.Barred[side], came.Untested[side] = v == rules.NotToday, v == rules.TestFirst
	}
	a.close(j, &came)
	var s eligibility
	if stands := d.Sides == catalog.OneSide && s.oneSide(came) || d.Sides != catalog.OneSide && s.together(came); stands {
		return s.verdict
	}
	return rules.NotToday
}
