package selection

import (
	"slices"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
)

// Left is what screening and the bars leave of the catalogue.
type Left struct {
	// Verdicts are those of each drill on each side of the body, by its index in the catalogue.
	Verdicts [][2]rules.Verdict
	// Sure is the most urgent referral that holds, Possible the most urgent that holds or that isn't ruled out and closes
	// something.
	Sure, Possible Urgent
}

// Urgent is how urgent a referral is, by its index among rules.Urgencies, and its rule; behind all of them when there is none.
type Urgent struct {
	Place int
	By    string
}

func (u *Urgent) take(r rules.Advisory) {
	if at := slices.Index(rules.Urgencies, r.Rule.Urgency); at < u.Place {
		*u = Urgent{at, r.Rule.ID}
	}
}

// LeftOf judges drills as Explain would, for the lift of the request or for none; without any, the whole catalogue.
func LeftOf(e *rules.Edition, q *client.Request, drills ...*catalog.Drill) (*Left, error) {
	var named []Named
	if q.Lift != "" {
		named = []Named{{"lift", "drill", q.Lift}}
	}
	a, err := ask(e, q, named)
	if err != nil {
		return nil, err
	}
	defer a.done()
	lift := e.Catalogue.Drill(q.Lift)
	none := Urgent{Place: len(rules.Urgencies)}
	left := &Left{Verdicts: make([][2]rules.Verdict, len(e.Catalogue.Drills)), Sure: none, Possible: none}
	for _, r := range a.permitted.advisories {
		if r.Sure {
			left.Sure.take(r)
		}
		if r.Sure || !onlyConditions(a.facts, r) {
			left.Possible.take(r)
		}
	}
	a.allowed(lift)
	judge := e.JudgeOne
	if len(drills) == 0 {
		judge, drills = e.Judge, e.Catalogue.Drills
	}
	j := judge(a.facts, lift)
	defer j.Done()
	for _, d := range drills {
		for side := range 2 {
			left.Verdicts[d.Index][side] = j.Verdict(d, side)
			if _, open := a.permitted.allows(e, d, side); !open {
				left.Verdicts[d.Index][side] = rules.NotToday
			}
		}
	}
	return left, nil
}

// RaisedOf are the referrals that hold and those that aren't ruled out, each with its region and side.
func RaisedOf(e *rules.Edition, q *client.Request) (sure, possible map[string]*rules.Rule, err error) {
	a, err := ask(e, q, nil)
	if err != nil {
		return nil, nil, err
	}
	defer a.done()
	sure, possible = map[string]*rules.Rule{}, map[string]*rules.Rule{}
	for _, r := range a.permitted.advisories {
		name := r.Rule.ID + " " + region(r) + " " + r.Reason.Side
		if possible[name] = r.Rule; r.Sure {
			sure[name] = r.Rule
		}
	}
	return sure, possible, nil
}

// AllowedOf is the highest grade of each stressor of a request's lift by side, in the order of the vocabulary.
func AllowedOf(e *rules.Edition, q *client.Request) (grades [2][]float64) {
	a, err := ask(e, q, nil)
	if err != nil {
		panic(err)
	}
	defer a.done()
	a.allowed(e.Catalogue.Drill(q.Lift))
	for side := range 2 {
		for _, id := range e.Frame.Vocabulary.IDs("stressor") {
			grades[side] = append(grades[side], a.facts.Number("request.allowed."+id, side).Lo)
		}
	}
	return grades
}
