package selection

import (
	"cmp"
	"context"
	"slices"

	"drillwright/rules"
	"drillwright/rules/client"
)

// Sample is a client of whom a preview asks every question: screening, a substitute for each goal lift, and the session
// of the plan that Select takes by itself.
type Sample struct {
	Name    string // each once
	Request *client.Request
}

// goals are the lifts that substitutes are asked for, each once.
func (s Sample) goals() []string {
	if s.Request.Profile == nil {
		return nil
	}
	return s.Request.Canonical().Profile.GoalLifts
}

// Previewed is what a draft would change of the answers to the samples.
type Previewed struct {
	BaseRevision, DraftRevision string
	// Digest stands for both revisions, the engine, the samples and everything below.
	Digest  string
	Churn   Churn
	Changes []AnswerChange // by client; of one client in the order of the questions
	// NewDrills are those that the draft adds, by id.
	NewDrills []NewDrill
}

// NewDrill is a drill that the draft adds, and in how many answers that judge drills it is open, must be tested first, is not
// for today, and is picked. That it can be trained changes no answer; that it is picked does.
type NewDrill struct {
	Drill                             string
	Open, TestFirst, NotToday, Picked int
}

// Churn is how much changes. An answer counts if one of the two editions can give it.
type Churn struct {
	Clients, ClientsChanged            int
	Answers, AnswersChanged            int
	FirstPicksChanged, VerdictsChanged int
	ClientsLosingFirstPick             int
	// BudgetPercent is the smaller of the budgets of both editions: a draft can't widen its own. Nil: none.
	BudgetPercent *float64
	AboveBudget   bool
}

// AnswerChange is an answer that changes. What doesn't change is nil or empty.
type AnswerChange struct {
	Client   string
	Question string // "screen", "substitute push-up", "select knee-session"
	// Screening stands at the question "screen" alone.
	Screening *OutcomeChange
	FirstPick *PickChange
	// Verdicts by drill and side. They are left out where screening leaves no drills at all, before or after.
	Verdicts []VerdictChange
	// LosesFirstPick is true when a drill that was picked can't be trained any more, or not before a test, on a side on
	// which it could (another side may keep it), or when nothing is picked any more.
	LosesFirstPick bool
	// Fault says why one of the editions can't answer.
	Fault string
}

// OutcomeChange is a change of what screening found, of whom it sends where, of what it asks, or of what may be loaded.
type OutcomeChange struct {
	Before, After                 string
	NoDrillsBefore, NoDrillsAfter bool
	// Rules that refer or ask in one edition and not, or otherwise, in the other.
	Rules []string
}

// PickChange is a change of the substitute that stands first, or of the drills of a session; ids.
type PickChange struct {
	Before, After []string
	// Rules that come out differently on the drills that come and go. Empty: what was changed is no rule.
	Rules []string
}

// VerdictChange is a change of verdict on a drill and a side: LEFT or RIGHT of a drill that works one side at a time, else
// BOTH.
type VerdictChange struct {
	Drill, Side   string
	Before, After rules.Verdict // After is empty for a drill that the draft takes out
	// Rules that decide, in one edition and not, or otherwise, in the other.
	Rules []string
}

// Preview asks the questions of every sample on both editions and compares the answers. What ranks below the first pick is
// no news. The only error is the context's.
func Preview(ctx context.Context, base, draft *rules.Edition, samples []Sample) (*Previewed, error) {
	samples = slices.Clone(samples)
	slices.SortStableFunc(samples, func(a, b Sample) int { return cmp.Compare(a.Name, b.Name) })
	p := newComparison(base, draft)
	out := &Previewed{BaseRevision: base.Revision, DraftRevision: draft.Revision}
	for _, s := range samples {
		out.add(p.ofClient(Sample{s.Name, waitedFor(ctx, s.Request)}))
		if err := ctx.Err(); err != nil {
			return nil, err
		}
	}
	out.NewDrills = p.added
	out.Churn.budget(base.Book.About.ChurnBudget, draft.Book.About.ChurnBudget)
	out.Digest = out.digest(samples)
	return out, nil
}

// add counts the answers to one sample; nil stands for one that doesn't change.
func (p *Previewed) add(answers []*AnswerChange) {
	c := &p.Churn
	if len(answers) == 0 {
		return
	}
	c.Clients++
	c.Answers += len(answers)
	changed, loses := false, false
	for _, a := range answers {
		if a == nil {
			continue
		}
		p.Changes = append(p.Changes, *a)
		c.AnswersChanged++
		c.VerdictsChanged += len(a.Verdicts)
		if a.FirstPick != nil {
			c.FirstPicksChanged++
		}
		changed, loses = true, loses || a.LosesFirstPick
	}
	if changed {
		c.ClientsChanged++
	}
	if loses {
		c.ClientsLosingFirstPick++
	}
}

func (c *Churn) budget(budgets ...*float64) {
	for _, b := range budgets {
		if b != nil && (c.BudgetPercent == nil || *b < *c.BudgetPercent) {
			c.BudgetPercent = b
		}
	}
	c.AboveBudget = c.BudgetPercent != nil && float64(100*c.AnswersChanged) > *c.BudgetPercent*float64(c.Answers)
}
