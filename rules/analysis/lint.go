package analysis

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	"drillwright/rules"
	"drillwright/rules/client"
)

// Finding is something that a book may say and hardly means. What it says is proved: by the search for a client
// (Nearest), or because it follows from the texts alone.
type Finding struct {
	Kind    FindingKind
	At      authored.Pos
	Message string
	// Evidence: the rules and drills it is about, by id, and a client of whom it is true; nil where none is needed.
	Rules, Drills []string
	Client        *client.Request
	// NotDecided: the search ended before it could tell. There is at most one such finding of a kind, and it counts the
	// questions that were left.
	NotDecided bool
}

// FindingKind says what is wrong.
type FindingKind string

// The kinds of findings.
const (
	neverFires           FindingKind = "never_fires"
	alwaysFires          FindingKind = "always_fires"
	contradicts          FindingKind = "contradicts"
	redundant            FindingKind = "redundant"
	unreachableDrill     FindingKind = "unreachable_drill"
	unexplainedTag       FindingKind = "unexplained_tag"
	missingTag           FindingKind = "missing_tag"
	emptySlot            FindingKind = "empty_slot"
	conditionWithoutRule FindingKind = "condition_without_rule"
	unguardedPath        FindingKind = "unguarded"
	missingSource        FindingKind = "missing_source"
)

// What a lint may cost: for one question about one drill, in clients that are looked at; in all, in steps. A step is about
// the reading of an atom, whoever does it. Time is no part of it, so that the same book has the same findings.
const (
	lintChanges = 6
	lintNodes   = 20_000
	lintSteps   = 250_000_000
	// lintClaims is how many pairs of rules are held against each other.
	lintClaims = 400_000
)

// Lint looks for what is allowed and hardly meant: rules that hold for no client or for every one, rules that contradict
// each other or make each other needless, drills that nobody can get, tags and conditions that no rule speaks of, slots
// that nothing fills. Every client who is found on the way is held against all that is still to be proved.
//
// Findings are in the order of their files and lines. The only error is the context's: what was found by then is nothing to
// go by.
func Lint(ctx context.Context, e *rules.Edition) ([]Finding, error) {
	l := newLinter(ctx, e)
	l.all()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	return l.findings, nil
}

func (l *linter) all() {
	l.texts()
	l.conditions()
	l.tags()
	l.slots()
	l.fires()
	l.claims()
	l.opposites()
	l.drills()
	l.undecided()
	slices.SortStableFunc(l.findings, func(a, b Finding) int {
		return cmp.Or(cmp.Compare(name(a.At), name(b.At)), cmp.Compare(a.At.Line, b.At.Line), cmp.Compare(a.At.Col, b.At.Col),
			cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Message, b.Message))
	})
}

func name(at authored.Pos) string {
	if at.Source == nil {
		return ""
	}
	return at.Source.Name
}

// linter is a lint on its way.
type linter struct {
	e        *rules.Edition
	free     *client.Request // of whom everything is known, and nothing speaks against training
	facts    *client.Facts   // of free
	steps    int             // left
	seen     seen
	alike    alike
	gone     map[*catalog.Drill]bool // drills that nobody can get
	hopeless map[*rules.Rule]bool    // rules that hold for nobody
	left     map[FindingKind]int     // questions that were not decided
	findings []Finding
}

func newLinter(ctx context.Context, e *rules.Edition) *linter {
	l := &linter{e: e, free: freeClient(e, nil), steps: lintSteps, gone: map[*catalog.Drill]bool{}, hopeless: map[*rules.Rule]bool{},
		left: map[FindingKind]int{}}
	l.free.Done = ctx.Done() // whatever is searched from here ends with it
	l.facts = client.Derive(e.Frame, l.free)
	l.alike = alike{e, &l.steps}
	l.seen = newSeen(e)
	l.claim()
	l.look(l.free)
	return l
}

// ended is true when nothing more is to be done: the steps ran out, or nobody waits.
func (l *linter) ended() bool { return l.steps <= 0 || l.free.Abandoned() }

// step counts what is done, and is whether it may be.
func (l *linter) step(steps int) bool {
	if l.ended() {
		return false
	}
	l.steps -= steps
	return true
}

func (l *linter) find(f Finding) { l.findings = append(l.findings, f) }

// undecided says how much was left open.
func (l *linter) undecided() {
	for _, k := range []FindingKind{neverFires, alwaysFires, contradicts, redundant, unreachableDrill, missingTag, emptySlot} {
		if n := l.left[k]; n > 0 {
			l.find(Finding{Kind: k, Message: fmt.Sprintf("questions left undecided: %d", n), NotDecided: true})
		}
	}
}
