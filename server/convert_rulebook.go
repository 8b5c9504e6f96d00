package server

import (
	"slices"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/rules/selection"
)

// Told of what changes: an edit may close every drill to a thousand clients, and an answer has to fit a message.
const (
	verdictsOfAnswer  = 100
	verdictsOfPreview = 10_000
	answersOfPreview  = 2000
)

func previewedTo(p *selection.Previewed) *v1.Previewed {
	out := &v1.Previewed{BaseRevision: p.BaseRevision, DraftRevision: p.DraftRevision, Digest: p.Digest, Churn: churnTo(p.Churn)}
	changes := firstOf(p.Changes, answersOfPreview)
	out.ChangesLeftOut = int32(len(p.Changes) - len(changes))
	left := verdictsOfPreview
	for _, c := range changes {
		a := answerChangeTo(c)
		a.Verdicts = each(c.Verdicts[:min(len(c.Verdicts), verdictsOfAnswer, left)], verdictChangeTo)
		left -= len(a.Verdicts)
		out.Changes = append(out.Changes, a)
	}
	out.NewDrills = each(p.NewDrills, func(n selection.NewDrill) *v1.NewDrill {
		return &v1.NewDrill{Drill: n.Drill, Open: int32(n.Open), TestFirst: int32(n.TestFirst), NotToday: int32(n.NotToday),
			Picked: int32(n.Picked)}
	})
	return out
}

// firstOf are the first of the answers that change, in their order; those that lose a pick before any other.
func firstOf(all []selection.AnswerChange, most int) []selection.AnswerChange {
	others := most
	for _, a := range all {
		if a.LosesFirstPick {
			others--
		}
	}
	losers := most
	return slices.DeleteFunc(slices.Clone(all), func(a selection.AnswerChange) bool {
		left := &others
		if a.LosesFirstPick {
			left = &losers
		}
		*left--
		return *left < 0
	})
}

func churnTo(c selection.Churn) *v1.Churn {
	return &v1.Churn{Clients: int32(c.Clients), ClientsChanged: int32(c.ClientsChanged), Answers: int32(c.Answers),
		AnswersChanged:    int32(c.AnswersChanged),
		FirstPicksChanged: int32(c.FirstPicksChanged), VerdictsChanged: int32(c.VerdictsChanged),
		ClientsLosingFirstPick: int32(c.ClientsLosingFirstPick),
		BudgetPercent:          c.BudgetPercent, AboveBudget: c.AboveBudget}
}

// answerChangeTo leaves out the verdicts: how many are told depends on the other answers.
func answerChangeTo(a selection.AnswerChange) *v1.AnswerChange {
	out := &v1.AnswerChange{Client: a.Client, Question: a.Question, LosesFirstPick: a.LosesFirstPick, Fault: a.Fault,
		VerdictsChanged: int32(len(a.Verdicts))}
	if s := a.Screening; s != nil {
		out.Screening = &v1.OutcomeChange{Before: v1.Outcome(v1.Outcome_value[s.Before]), After: v1.Outcome(v1.Outcome_value[s.After]),
			Rules:          s.Rules,
			NoDrillsBefore: s.NoDrillsBefore, NoDrillsAfter: s.NoDrillsAfter}
	}
	if p := a.FirstPick; p != nil {
		out.FirstPick = &v1.PickChange{Before: p.Before, After: p.After, Rules: p.Rules}
	}
	return out
}

func verdictChangeTo(v selection.VerdictChange) *v1.VerdictChange {
	return &v1.VerdictChange{Drill: v.Drill, Side: v.Side, Before: verdictTo(string(v.Before)), After: verdictTo(string(v.After)),
		Rules: v.Rules}
}

func partChangeTo(p rules.PartChange) *v1.PartChange {
	return &v1.PartChange{Kind: p.Kind, Id: p.ID, Change: p.Change, File: p.File, Line: int32(p.Line),
		Fields: each(p.Fields, func(f rules.FieldChange) *v1.FieldChange {
			return &v1.FieldChange{Field: f.Field, Before: f.Before, After: f.After}
		})}
}
