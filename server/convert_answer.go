package server

import (
	"math"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/rules/selection"
)

// header converts what every answer carries; ref and day are echoed from the request.
func (s *Server) header(r *reader, m asking, h selection.Header) *v1.AnswerHeader {
	out := &v1.AnswerHeader{
		Ref: r.profile.Ref, AsOf: m.GetAsOf(), Screening: screeningTo(h.Screening),
		Notes: h.Notes, Presumed: h.Presumed, Call: s.config.Call,
		Receipt: &v1.Receipt{RequestDigest: h.Receipt.RequestDigest, Revision: h.Receipt.Revision, Engine: h.Receipt.Engine},
	}
	out.Cautions = messages(h.Cautions, func(out *v1.Notice, c *selection.Caution) {
		*out = v1.Notice{Rule: c.Rule, Words: c.Words, NotRuledOut: c.NotRuledOut}
	})
	out.MeasureNext = messages(h.MeasureNext, func(out *v1.MeasureNext, m *selection.Measurement) {
		*out = v1.MeasureNext{Path: m.Path, Side: m.Side, Words: m.Words, How: m.How, Opens: int32(m.Opens)}
	})
	if t := h.TellFirst; t != nil {
		out.TellFirst = &v1.TellFirst{Opens: int32(t.Opens), Facts: messages(t.Facts, func(out *v1.Telling, f *selection.Telling) {
			*out = v1.Telling{Field: f.Field, Asks: f.Asks}
		})}
	}
	return out
}

func screeningTo(s selection.Screening) *v1.ScreeningResult {
	return &v1.ScreeningResult{
		Outcome: v1.Outcome(v1.Outcome_value[s.Outcome]), NoDrills: s.NoDrills,
		Referrals: messages(s.Referrals, func(out *v1.Referral, r *selection.Referral) {
			*out = v1.Referral{Rule: r.Rule, Urgency: v1.Urgency(v1.Urgency_value[r.Urgency]), Scope: v1.Scope(v1.Scope_value[r.Scope]),
				Region: r.Region, Side: r.Side, Words: r.Words, Source: r.Source}
		}),
		Questions: messages(s.Questions, func(out *v1.Question, q *selection.Question) {
			*out = v1.Question{Id: q.ID, Asks: q.Asks, Urgency: v1.Urgency(v1.Urgency_value[q.Urgency]), Region: q.Region,
				Contradicted: q.Contradicted}
		}),
		Unloaded: messages(s.Unloaded, func(out *v1.Unloaded, u *selection.Unloaded) {
			*out = v1.Unloaded{Region: u.Region, Side: u.Side, Why: u.Why}
		}),
	}
}

func (e *served) substituteTo(header *v1.AnswerHeader, a *selection.SubstituteAnswer) *v1.SubstituteResponse {
	return &v1.SubstituteResponse{
		Header: header, Lift: e.cards[a.Lift.Index], Unclear: a.Unclear, Spared: a.Spared, Considered: int32(a.Considered),
		LeftOut: messages(a.LeftOut, leftOutTo),
		Provokers: messages(a.Provokers, func(out *v1.Provoker, p *selection.Provoker) {
			*out = v1.Provoker{Region: p.Region, Side: p.Side, Stressor: p.Stressor, Motion: p.Motion, Moment: p.Moment, Grade: int32(p.Grade),
				Words: p.Words}
		}),
		Substitutes: messages(a.Substitutes, e.choiceTo),
	}
}

func (e *served) choiceTo(out *v1.Substitute, s *selection.Choice) {
	*out = v1.Substitute{
		Drill: e.cards[s.Drill.Index], Tier: v1.Tier(v1.Tier_value[s.Tier]), Verdict: verdictTo(s.Verdict), Sides: sidesTo(s.Sides),
		Points: int32(s.Points), Lead: int32(s.Lead), KeepsMuscles: keepsTo(s.KeepsMuscles), KeepsPattern: keepsTo(s.KeepsPattern),
		KeepsLoad: keepsTo(s.KeepsLoad), TakesAway: s.TakesAway, Removed: s.Removed, TestSet: testSetTo(s.TestSet),
		Cautions: messages(s.Cautions, reasonTo), Tests: s.Tests, Parts: messages(s.Parts, partTo), Reasons: messages(s.Reasons, reasonTo),
	}
}

func (e *served) selectTo(header *v1.AnswerHeader, a *selection.SelectAnswer) *v1.SelectResponse {
	return &v1.SelectResponse{
		Header: header, Plan: a.Plan, PlanName: a.PlanName, Minutes: int32(a.Minutes), Seconds: int32(a.Seconds), Points: int32(a.Points),
		Drills:  messages(a.Drills, e.sessionDrillTo),
		Limits:  messages(a.Limits, limitTo),
		LeftOut: messages(a.LeftOut, leftOutTo),
		Empty: messages(a.Empty, func(out *v1.EmptySlot, e *selection.EmptySlot) {
			*out = v1.EmptySlot{Slot: e.Slot, Name: e.Name, Words: e.Words}
		}),
	}
}

func (e *served) sessionDrillTo(out *v1.SessionDrill, d *selection.SessionDrill) {
	*out = v1.SessionDrill{
		Slot: d.Slot, SlotName: d.SlotName, Purpose: d.Purpose, Drill: e.cards[d.Drill.Index], Verdict: verdictTo(d.Verdict),
		Sides: sidesTo(d.Sides), Points: int32(d.Points), TestSet: testSetTo(d.TestSet), Cautions: messages(d.Cautions, reasonTo),
		Backups: messages(d.Backups, func(out *v1.Backup, b *selection.Backup) {
			*out = v1.Backup{Id: b.ID, Name: b.Name, Station: b.Station, Points: int32(b.Points)}
		}),
		Parts: messages(d.Parts, partTo), Reasons: messages(d.Reasons, reasonTo),
	}
}

// brief is whether the view leaves the reasons out.
func brief(view v1.View) bool { return view != v1.View_REASONS }

func (e *served) explainTo(header *v1.AnswerHeader, a *selection.ExplainAnswer) *v1.ExplainResponse {
	return &v1.ExplainResponse{Header: header, Drill: e.cards[a.Drill.Index], Verdict: verdictTo(a.Verdict),
		Sides: messages(a.Sides, sideExplainedTo)}
}

func sideExplainedTo(out *v1.SideExplained, s *selection.SideExplained) {
	*out = v1.SideExplained{Side: s.Side, Verdict: verdictTo(s.Verdict), Points: int32(s.Points), Rules: messages(s.Rules, outcomeTo),
		SmallestChanges: messages(s.Smallest, smallestTo), Opens: s.OpensWords}
	if s.Dose != nil {
		out.Dose = doseTo(s.Dose)
	}
}

func smallestTo(out *v1.SmallestChange, s *selection.SmallestChange) {
	*out = v1.SmallestChange{Words: s.Words, Changes: messages(s.Changes, func(out *v1.Change, c *selection.Change) {
		*out = v1.Change{Path: c.Path, Side: c.Side, Member: c.Member, Today: c.Today, To: c.To, Unit: c.Unit, OrMore: c.OrMore, OrLess: c.OrLess,
			Words: c.Words}
	})}
}

func outcomeTo(out *v1.RuleOutcome, r *selection.RuleOutcome) {
	*out = v1.RuleOutcome{
		Reason: &v1.Reason{}, Verdict: verdictTo(r.Verdict), Opens: r.Opens,
		Clauses: messages(r.Clauses, func(out *v1.Clause, c *selection.Clause) {
			*out = v1.Clause{Text: c.Text, Holds: c.Holds, Known: c.Known, Flip: c.Flip}
		}),
	}
	reasonTo(out.Reason, &r.Reason)
}

func reasonTo(out *v1.Reason, r *selection.Reason) {
	*out = v1.Reason{
		Rule: r.Rule, Effect: v1.Effect(v1.Effect_value[r.Effect]), Side: r.Side, Words: r.Words, Points: int32(r.Points), Source: r.Source,
		Member:   r.Member,
		Standing: v1.ReasonStanding(v1.ReasonStanding_value[r.Standing]), Facts: messages(r.Facts, factTo),
	}
}

func factTo(out *v1.Fact, f *rules.Fact) {
	*out = v1.Fact{Path: f.Path, Side: f.Side, Value: f.Value, Unit: f.Unit, Why: f.Why, Status: v1.FactStatus(v1.FactStatus_value[f.Status])}
}

// sidesTo converts the sides of a drill. Sides that have one dose share it.
func sidesTo(sides []selection.SideDose) []*v1.SideDose {
	out := messages(sides, func(out *v1.SideDose, d *selection.SideDose) {
		*out = v1.SideDose{Side: d.Side, Words: d.Words}
	})
	for i, s := range sides {
		if i > 0 && s.Dose == sides[0].Dose {
			out[i].Dose = out[0].Dose
		} else {
			out[i].Dose = doseTo(s.Dose)
		}
	}
	return out
}

func doseTo(d *selection.Dose) *v1.Dose {
	return &v1.Dose{
		Rule: d.Rule, Sets: int32(d.Sets), RepsLow: int32(d.RepsLow), RepsHigh: int32(d.RepsHigh), HoldLowSeconds: int32(d.HoldLow),
		HoldHighSeconds: int32(d.HoldHigh), Metres: int32(d.Metres), Tempo: d.Tempo, RestSeconds: int32(d.RestSeconds),
		EffortLow: int32(d.EffortLow), EffortHigh: int32(d.EffortHigh), PerWeek: int32(d.PerWeek), PerDay: int32(d.PerDay),
		PainCeiling: int32(d.PainCeiling), LoadKg: finite(d.LoadKg), LoadWords: d.LoadWords, Note: d.Note, Seconds: int32(d.Seconds),
	}
}

func testSetTo(t selection.TestSet) *v1.TestSet {
	return &v1.TestSet{RepsLow: int32(t.RepsLow), RepsHigh: int32(t.RepsHigh), HoldSeconds: int32(t.HoldSeconds),
		LoadPercent: int32(t.LoadPercent), PainCeiling: int32(t.PainCeiling), Words: t.Words,
		Passed: t.Passed, Failed: t.Failed, NextMorning: t.NextMorning, LoadKg: finite(t.LoadKg)}
}

func partTo(out *v1.ScorePart, p *selection.Part) {
	*out = v1.ScorePart{Name: p.Name, Points: int32(p.Points), Of: int32(p.Of), Words: p.Words}
}

func leftOutTo(out *v1.LeftOut, l *selection.LeftOut) {
	*out = v1.LeftOut{Drill: l.Drill, Name: l.Name, Side: l.Side, Reason: &v1.Reason{}}
	reasonTo(out.Reason, &l.Reason)
}

func limitTo(out *v1.LimitState, l *selection.LimitState) {
	*out = v1.LimitState{Id: l.ID, Name: l.Name, Value: finite(&l.Value), Low: finite(l.Low), High: finite(l.High), Met: l.Met}
}

func verdictTo(s string) v1.Verdict { return v1.Verdict(v1.Verdict_value[s]) }
func keepsTo(s string) v1.Keeps     { return v1.Keeps(v1.Keeps_value[s]) }

// finite leaves out what is no number, and folds −0.
func finite(v *float64) *float64 {
	if v == nil || math.IsNaN(*v) || math.IsInf(*v, 0) {
		return nil
	}
	return number(v)
}

func each[A, B any](list []A, convert func(A) B) []B {
	if len(list) == 0 {
		return nil
	}
	out := make([]B, len(list))
	for i, x := range list {
		out[i] = convert(x)
	}
	return out
}

// messages are a list's, all in one piece of memory.
func messages[A, M any](list []A, fill func(*M, *A)) []*M {
	if len(list) == 0 {
		return nil
	}
	scratch, out := make([]M, len(list)), make([]*M, len(list))
	for i := range list {
		fill(&scratch[i], &list[i])
		out[i] = &scratch[i]
	}
	return out
}
