// Package rules is the rulebook: it reads a book with the place of every word, takes each condition apart,
// judges every drill by every rule for one client, and says why.
//
// A condition is three-valued: it holds, it doesn't, or what was measured can't tell. What loosens needs
// "sure", what tightens needs only "possible". The package knows no wire, no database and no clock.
//
// Read in this order: source.go (texts), dialect.go, unroll.go, resolve.go and check.go (the four passes),
// tree.go (what they make), twin.go and plain.go (judging), judge.go (what comes out), reasons.go (words).
package rules

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"go.yaml.in/yaml/v3"

	"drillwright/catalog"
	"drillwright/rules/client"
	"drillwright/rules/compile"
	"drillwright/rules/condition"
)

//go:embed book/*.yaml floor/*.yaml
var embedded embed.FS

// EngineVersion is part of every receipt: it changes when the same edition and request may give other bytes.
const EngineVersion = "2"

// Edition is one published whole, compiled: vocabulary, catalogue, ladders, rules, doses, plans. It is
// immutable and safe for use by many goroutines.
type Edition struct {
	// Revision is the digest of the files.
	Revision  string
	Catalogue *catalog.Snapshot
	Frame     *client.Frame
	Book      *Book

	tags   *drillTable
	rows   [][]*condition.Row // by drill, then row
	noLift *condition.Row

	judged     []*Rule // in the order of the program
	program    *compile.Program
	relevant   *relevant
	judgements *sync.Pool     // of *Judgement
	withheld   *atomic.Uint64 // see Withheld
	plain      *plainJudge    // set on an edition that is judged the plain way
}

// kinds of file, by top key. about may stand beside another key.
var kinds = []string{"vocabulary", "blocks", "drills", "screening", "ladders", "measures", "rules", "doses", "cautions", "plans", "substitute", "about"}

// EmbeddedFiles are the files of the edition that comes with the program.
func EmbeddedFiles() []catalog.File {
	return append(catalog.EmbeddedFiles(), catalog.FilesOf(embedded, "book", "rules/book/")...)
}

// Embedded compiles the edition that comes with the program.
func Embedded() (*Edition, error) { return Read(EmbeddedFiles()) }

// withBase completes a draft.
func withBase(draft, base []catalog.File) []catalog.File {
	d := catalog.NewDecoder()
	have := map[string]bool{}
	for _, f := range draft {
		for _, k := range topKeys(d, f) {
			have[k] = true
		}
	}
	have["blocks"] = have["blocks"] || have["drills"]
	have["drills"] = have["drills"] || have["blocks"]
	files := slices.Clone(draft)
	for _, f := range base {
		if !slices.ContainsFunc(topKeys(d, f), func(k string) bool { return have[k] }) {
			files = append(files, f)
		}
	}
	return files
}

func topKeys(d *catalog.Decoder, f catalog.File) []string {
	var keys []string
	if n := d.Parse(f); n != nil {
		for i := 0; i < len(n.Content); i += 2 {
			keys = append(keys, n.Content[i].Value)
		}
	}
	return keys
}

// Read compiles an edition. The error is catalog.Problems: every mistake of every file.
func Read(files []catalog.File) (*Edition, error) { return ReadDraft(files, nil) }

// ReadDraft compiles a draft; kinds of file that it lacks come from the base. A term of the base that only the
// replaced files used is no mistake of the draft's author.
func ReadDraft(draft, base []catalog.File) (*Edition, error) {
	e, d, err := read(nil, draft, base)
	if err != nil {
		return nil, err
	}
	e.checkUse(d.Report, draft) // only now: a rule that couldn't be read uses nothing
	if err := d.Err(); err != nil {
		return nil, err
	}
	return e.compile(nil), nil
}

// ReadOn compiles a draft over a catalogue that is already there: the words and drills of the files are passed over,
// and a word that nothing uses is no mistake.
func ReadOn(snap *catalog.Snapshot, draft, base []catalog.File) (*Edition, error) {
	e, _, err := read(snap, draft, base)
	if err != nil {
		return nil, err
	}
	return e.compile(nil), nil
}

// read reads everything but compiles nothing.
func read(snap *catalog.Snapshot, draft, base []catalog.File) (*Edition, *catalog.Decoder, error) {
	files := withBase(draft, base)
	d := catalog.NewDecoder()
	docs := parseAll(d, append(catalog.FilesOf(embedded, "floor", "rules/floor/"), files...))
	if snap == nil {
		snap = catalog.ReadNodes(d, docs)
	}
	e := &Edition{Revision: digest(files), Catalogue: snap}
	if err := d.Err(); err != nil {
		return nil, nil, err // rules that name words of a broken vocabulary would only repeat its mistakes
	}
	e.Frame = readFrame(d, e.Catalogue, docs)
	if err := d.Err(); err != nil {
		return nil, nil, err
	}
	e.tags = newDrillTable(e.Catalogue.Vocabulary, e.Frame.Ladder)
	e.Book = readBook(d, e.Frame, e.tags, docs)
	e.checkRungs(d.Report)
	return e, d, d.Err()
}

// compile numbers the tags of every drill and compiles the rules. before may be nil; see compile.New.
func (e *Edition) compile(before *Edition) *Edition {
	e.rows, e.noLift = e.tags.rows(e.Catalogue.Drills)
	for _, r := range slices.Concat(e.Book.Rules, e.Book.Doses, e.Book.Advices) {
		r.prepare()
	}
	e.judged, e.judgements, e.withheld = e.Book.judgedRules(), &sync.Pool{}, new(atomic.Uint64)
	list := make([]compile.Rule, len(e.judged))
	for i, r := range e.judged {
		r.place = i
		list[i] = compile.Rule{When: r.When, Effect: effects[r.Effect], Points: r.Points, BothRows: r.allRows(), Coverable: r.Effect == Bar && r.conditions}
	}
	e.program, e.relevant = compile.New(e.rows, list, nil), e.newRelevant()
	return e
}

// effects that judging all drills works out; the others are asked of single drills.
var effects = map[Effect]compile.Effect{Bar: compile.Bars, Favour: compile.Favours, Caution: compile.Others, Adjust: compile.Others, Dosing: compile.Others}

func parseAll(d *catalog.Decoder, files []catalog.File) []*yaml.Node {
	var docs []*yaml.Node
	for _, f := range files {
		n := d.Parse(f)
		if n == nil {
			continue
		}
		for i := 0; i < len(n.Content); i += 2 {
			if key := n.Content[i]; !slices.Contains(kinds, key.Value) {
				d.Unknown(d.At(key), "kind of file", key.Value, kinds)
			}
		}
		docs = append(docs, n)
	}
	return docs
}

// digest is the revision: SHA-256 over the files in order of name, each with name and length.
func digest(files []catalog.File) string {
	sorted := slices.Clone(files)
	slices.SortFunc(sorted, func(a, b catalog.File) int { return strings.Compare(a.Name, b.Name) })
	h := sha256.New()
	for _, f := range sorted {
		fmt.Fprintf(h, "%d %s %d\n", len(f.Name), f.Name, len(f.Data))
		h.Write(f.Data)
	}
	return hex.EncodeToString(h.Sum(nil))[:32]
}

// each calls do for every value under one of the keys, in the order of the files.
func each(docs []*yaml.Node, keys []string, do func(key string, n *yaml.Node)) {
	for _, doc := range docs {
		for i := 0; i+1 < len(doc.Content); i += 2 {
			if slices.Contains(keys, doc.Content[i].Value) {
				do(doc.Content[i].Value, doc.Content[i+1])
			}
		}
	}
}

// readFrame reads ladders, screening lists and the trust in measures.
func readFrame(d *catalog.Decoder, snap *catalog.Snapshot, docs []*yaml.Node) *client.Frame {
	var ladders []client.Ladder
	var lists []client.QuestionList
	var measures client.Measures
	each(docs, []string{"ladders", "screening", "measures"}, func(key string, n *yaml.Node) {
		switch key {
		case "ladders":
			var more []client.Ladder
			d.Decode(n, &more)
			ladders = append(ladders, more...)
		case "screening":
			var more []client.QuestionList
			d.Decode(n, &more)
			lists = joinLists(lists, more)
		case "measures":
			d.Decode(n, &measures)
		}
	})
	if measures.ValidDays.Range == 0 {
		d.Add(catalog.Pos{}, "no file says measures: how long a measurement counts, and its margins")
	}
	if len(measures.Loads.Percent) == 0 || !slices.Contains([]string{"epley", "brzycki"}, measures.Loads.Formula) {
		d.Add(measures.At, "measures need loads: percent_by_reps, and formula epley or brzycki")
	}
	checkLadders(d.Report, snap.Vocabulary, ladders)
	checkQuestions(d.Report, snap.Vocabulary, lists)
	return client.NewFrame(snap, ladders, lists, measures)
}

// joinLists adds questions to a list that another file began: the floor asks some, the book more.
func joinLists(lists, more []client.QuestionList) []client.QuestionList {
	for _, l := range more {
		i := slices.IndexFunc(lists, func(have client.QuestionList) bool { return have.ID == l.ID })
		if i < 0 {
			lists = append(lists, l)
		} else {
			lists[i].Questions = append(lists[i].Questions, l.Questions...)
		}
	}
	return lists
}

func checkLadders(r *catalog.Report, v *catalog.Vocabulary, ladders []client.Ladder) {
	seen := map[string]bool{}
	for _, l := range ladders {
		if !v.Has("region", l.Region) {
			r.Unknown(l.At, "region", l.Region, v.IDs("region"))
		}
		if seen[l.Region] {
			r.Add(l.At, "region %q has two ladders", l.Region)
		}
		seen[l.Region] = true
		if len(l.Rungs) < 2 {
			r.Add(l.At, "the ladder of %q needs two rungs at least", l.Region)
		}
		for _, level := range client.Irritabilities {
			if l.Place(l.Entry[level]) < 0 {
				r.Unknown(l.At, "entry for "+level+" irritability:", l.Entry[level], l.Rungs)
			}
		}
	}
	for _, region := range v.IDs("region") {
		if !seen[region] {
			r.Add(catalog.Pos{}, "region %q has no ladder", region)
		}
	}
}

func checkQuestions(r *catalog.Report, v *catalog.Vocabulary, lists []client.QuestionList) {
	seen := map[string]bool{}
	for _, l := range lists {
		if l.Region != "" && !v.Has("region", l.Region) {
			r.Unknown(l.At, "region", l.Region, v.IDs("region"))
		}
		for _, q := range l.Questions {
			if seen[q.ID] {
				r.Add(q.At, "question %q stands twice", q.ID)
			}
			seen[q.ID] = true
			if !slices.Contains(Urgencies, q.Urgency) {
				r.Unknown(q.At, "urgency", q.Urgency, Urgencies)
			}
			if q.Asks == "" {
				r.Add(q.At, "question %q asks nothing", q.ID)
			}
		}
	}
}

// readBook reads floor and book; the floor's rules are marked and stand first.
func readBook(d *catalog.Decoder, frame *client.Frame, tags *drillTable, docs []*yaml.Node) *Book {
	reader := newBookReader(d, frame, tags)
	each(docs, []string{"rules", "doses", "cautions", "plans", "substitute", "about"}, func(key string, n *yaml.Node) {
		reader.floor = strings.HasPrefix(d.At(n).Source.Name, "rules/floor/")
		reader.read(key, n)
	})
	book := reader.book
	slices.SortStableFunc(book.Rules, func(a, b *Rule) int {
		if a.Floor != b.Floor {
			if a.Floor {
				return -1
			}
			return 1
		}
		return strings.Compare(a.ID, b.ID)
	})
	slices.SortStableFunc(book.Advices, func(a, b *Rule) int { return strings.Compare(a.ID, b.ID) })
	slices.SortFunc(book.Plans, func(a, b *Plan) int { return strings.Compare(a.ID, b.ID) })
	book.of = map[Effect][]*Rule{}
	for _, r := range book.Rules {
		book.of[r.Effect] = append(book.of[r.Effect], r)
	}
	book.of[Dosing] = book.Doses
	book.check(d.Report)
	return book
}

func (b *Book) check(r *catalog.Report) {
	if len(b.Rules) == 0 {
		r.Add(catalog.Pos{}, "the book has no rules")
	}
	switch {
	case len(b.Doses) == 0:
		r.Add(catalog.Pos{}, "the book has no doses")
	case b.Doses[len(b.Doses)-1].When != nil && b.Doses[len(b.Doses)-1].When.Op != condition.Always:
		r.Suggest(b.Doses[len(b.Doses)-1].At, `end the list with when: "true"`, "the last dose must hold for every drill")
	}
	if len(b.Plans) == 0 {
		r.Add(catalog.Pos{}, "the book has no session plan")
	}
	if b.Substitution.Limit == 0 {
		r.Add(catalog.Pos{}, "no file says substitute: the numbers by which substitutes are ranked")
	}
}

// checkRungs holds every rung of a drill against the ladder of its region.
func (e *Edition) checkRungs(r *catalog.Report) {
	for _, d := range e.Catalogue.Drills {
		for _, row := range d.Rows {
			for _, load := range row.Regions {
				ladder := e.Frame.Ladder(load.Region)
				if ladder.Place(load.Rung) < 0 {
					r.Suggest(d.At, catalog.DidYouMean(load.Rung, ladder.Rungs), "drill %q: %q is no rung of %s", d.ID, load.Rung, load.Region)
				}
			}
		}
	}
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
	for _, r := range slices.Concat(b.Rules, b.Doses, b.Advices) {
		if r.ID == id {
			return r
		}
	}
	return nil
}
