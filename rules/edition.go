// Package rules is the rulebook: it reads a book with the index of every word, judges every drill by every rule for one client, and
// says why.
//
// A rule's predicate is three-valued: it holds, it doesn't, or what was measured can't tell. What loosens needs "sure", what tightens
// needs only "possible". The package knows no wire, no database and no clock.
//
// Read in this order: read.go and documents.go (files), bookread.go (rules, doses, plans; their texts go through package language);
// then packages predicate (what a rule's text becomes) and compile (judging at speed); judge.go, verdicts.go and judge_single.go (what
// comes
// out), judge_reference.go (what it is held against), reasons.go and fill.go (words); cases.go (what must come out).
package rules

import (
	"embed"
	"slices"
	"sync"
	"sync/atomic"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	"drillwright/rules/client"
	"drillwright/rules/compile"
	"drillwright/rules/language"
	"drillwright/rules/predicate"
)

//go:embed book/*.yaml floor/*.yaml
var embedded embed.FS

// EngineVersion is part of every receipt: it changes when the same edition and request may give other bytes.
const EngineVersion = "6"

// Edition is one published whole, compiled: vocabulary, catalogue, ladders, rules, doses, plans. It is
// immutable and safe for use by many goroutines.
type Edition struct {
	// Revision is the digest of the files.
	Revision  string
	Catalogue *catalog.Snapshot
	Frame     *client.Frame
	Book      *Book

	tags   *language.Tags
	rows   [][]*predicate.Row // by drill, then row
	NoLift *predicate.Row

	judged                []*Rule // in the order of the program
	program               *compile.Program
	preconditions         *compile.Preconditions // of the judged rules
	applicable            *applicability
	advisoryPreconditions *compile.Preconditions // of the refer rules, then the advices
	similar               *similarityCache
	groups                groups
	judgements            *sync.Pool      // of *Judgement
	advisoryScratches     *sync.Pool      // of *raising
	withheld              *atomic.Uint64  // see Withheld
	reference             *referenceJudge // set on an edition that is judged by reference

	// What Redraft reads over: the files, whether the catalogue came from elsewhere, and what the texts came to.
	files []document
	given bool
	texts language.Texts
}

// EmbeddedFiles are the files of the edition that comes with the program.
func EmbeddedFiles() []authored.File {
	return append(catalog.EmbeddedFiles(), authored.FilesOf(embedded, "book", "rules/book/")...)
}

// Embedded compiles the edition that comes with the program. Its files are the base of a draft that says nothing: what only a draft's
// author is asked (that words are used, that cases name what there is), tests hold of them.
func Embedded() (*Edition, error) { return ReadDraft(nil, EmbeddedFiles()) }

// compile compiles the rules. before may be nil; the tags of its drills are the same, under the same numbers.
func (e *Edition) compile(before *Edition) *Edition {
	var program *compile.Program
	if before != nil {
		e.rows, e.NoLift, e.similar, program = before.rows, before.NoLift, before.similar, before.program
	} else {
		e.similar = new(similarityCache)
		e.rows, e.NoLift = e.tags.Rows(e.Catalogue.Drills)
	}
	for _, r := range slices.Concat(e.Book.Rules, e.Book.Doses, e.Book.Advices) {
		r.prepare()
	}
	e.judged, e.judgements, e.withheld = e.Book.judgedRules(), &sync.Pool{}, new(atomic.Uint64)
	e.advisoryScratches = &sync.Pool{New: func() any { return new(advisoryScratch) }}
	e.preconditions, e.advisoryPreconditions = preconditionsOf(e.judged), preconditionsOf(slices.Concat(e.Book.Of(Refer), e.Book.Advices))
	list := make([]compile.Rule, len(e.judged))
	for i, r := range e.judged {
		list[i] = compile.Rule{When: r.When, Effect: r.Effect.trait().judged, Points: r.Points, BothRows: r.BothRows(),
			Coverable: r.Effect == Bar && r.ReadsConditions}
	}
	e.program, e.applicable = compile.New(e.rows, list, program), e.newApplicability()
	e.groups = e.newGroups()
	return e
}

// AllRules are the rules of the book: those that refer, the advice, and those that are judged on each drill.
func (e *Edition) AllRules() []*Rule {
	return slices.Concat(e.Book.Of(Refer), e.Book.Advices, e.judged)
}

// preconditionsOf numbers rules and packs what they ask of the client alone.
func preconditionsOf(list []*Rule) *compile.Preconditions {
	conditions := make([]*predicate.Node, len(list))
	for i, r := range list {
		r.index, conditions[i] = i, r.When.WithoutDrill()
	}
	return compile.NewPreconditions(conditions)
}

// Plan finds a session plan; nil when there is none.
func (b *Book) Plan(id string) *Plan {
	for _, p := range b.Plans {
		if p.ID == id {
			return p
		}
	}
	return nil
}

// Rule finds a rule by id; nil when there is none.
func (b *Book) Rule(id string) *Rule {
	for _, list := range [][]*Rule{b.Rules, b.Doses, b.Advices} {
		for _, r := range list {
			if r.ID == id {
				return r
			}
		}
	}
	return nil
}

// Planted is the same edition with a fault in its compiled rules, for tests of the nets that are there to catch one:
// a bar that reads a tag, or any for "", lets some drills through that the same edition judged drill by drill holds back.
// See compile.Program.Plant.
func (e *Edition) Planted(tag string) *Edition {
	planted := *e
	planted.program, planted.judgements = e.program.Plant(tag), &sync.Pool{}
	return &planted
}
