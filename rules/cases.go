package rules

import (
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"

	"drillwright/catalog/authored"
)

// ofCases is a kind of its own: an edition keeps the text of its cases, and reads them only to run them.
var ofCases = []string{"cases"}

// Case is a client, a question, and what the answer must hold and must not.
type Case struct {
	At    authored.Pos
	ID    authored.Text `yaml:"id" need:"yes" id:"kebab" doc:"Words in lower case joined by hyphens, given once among the cases."`
	About string        `yaml:"about" doc:"What the case is about, in a sentence."`
	// Like is a case that stands before: its client, but for the fields that Client gives.
	Like authored.Text `yaml:"like" doc:"A case that stands before: its client, but for the fields given here."`
	// Client is the mapping of a client file, with what Like gives worked in. What it means, the contract of the wire
	// says; nothing here knows that.
	Client CaseClient `yaml:"client" doc:"The client: the fields of a client file."`
	Ask    CaseAsk    `yaml:"ask" need:"yes" doc:"The question: one of screen, substitute, select and explain."`
	Want   CaseWant   `yaml:"want" need:"yes" doc:"What the answer must hold, and must not. What isn't named may be anything."`
}

// CaseClient is a client as it was written; nil when there is none.
type CaseClient struct{ *yaml.Node }

// WrittenAs implements catalog.Written: here it is any mapping; the schema of client files says which.
func (c *CaseClient) WrittenAs() []any { return []any{map[string]any{}} }

// DecodeNode implements catalog.NodeDecoder.
func (c *CaseClient) DecodeNode(_ *authored.Decoder, n *yaml.Node) { c.Node = n }

// CaseAsk is the question: one of Screen, Substitute, Select and Explain.
type CaseAsk struct {
	At         authored.Pos
	Screen     bool          `yaml:"screen" doc:"True to ask for the screening."`
	Substitute authored.Text `yaml:"substitute" suggest:"drill" doc:"The lift that hurts."` // the lift
	Select     authored.Text `yaml:"select" doc:"The plan of a session."`                   // the plan
	Explain    authored.Text `yaml:"explain" suggest:"drill" doc:"The drill to explain."`   // the drill
	// Side narrows what is said of single drills to one side: LEFT or RIGHT. Without it either side bars, and a drill
	// is open as a whole.
	Side authored.Text `yaml:"side" of:"one side" doc:"LEFT or RIGHT: what is said of single drills is said of that side. Without it either side bars."`
	// of Select; 0: as many as the plan says
	Minutes       int             `yaml:"minutes" doc:"Of select: how many minutes there are; as many as the plan says unless stated."`
	KitTaken      []authored.Text `yaml:"kit_taken" of:"kit" doc:"Kit in use by others, by id."`
	StationsTaken []authored.Text `yaml:"stations_taken" of:"station" doc:"Stations in use by others, by id."`
}

// ByRule names drills under a rule.
type ByRule = authored.Entries[authored.Several[authored.Text]]

// CaseWant is what is wanted of the answer. What it doesn't name may be anything. Lists of Substitute are the full ones,
// before the family cap and the limit.
type CaseWant struct {
	At        authored.Pos
	Outcome   authored.Text               `yaml:"outcome" of:"outcome" doc:"The outcome of screening."` // of screening
	Refer     authored.Several[CaseRefer] `yaml:"refer" doc:"Referrals that must be there."`
	Questions []authored.Text             `yaml:"questions" doc:"Ids of questions that must be asked."`
	NoDrills  bool                        `yaml:"no_drills" doc:"True when nothing may be trained."`
	// cautions of the answer as a whole
	Advice []authored.Text `yaml:"advice" doc:"Ids of cautions of the answer as a whole that must be there."`
	First  authored.Text   `yaml:"first" suggest:"drill" doc:"The drill that must stand first."`
	Picks  []authored.Text `yaml:"picks" suggest:"drill" doc:"Drills that must be listed."`
	Never  []authored.Text `yaml:"never" suggest:"drill" doc:"Drills that must not be listed."`
	// each drill of a group before all of the next
	Order [][]authored.Text `yaml:"order" suggest:"drill" doc:"Groups of drills, each before all of the next."`
	// those that are listed, behind all of Order
	Behind   []authored.Text `yaml:"behind" suggest:"drill" doc:"Drills that, where they are listed, stand behind all of order."`
	Open     []authored.Text `yaml:"open" suggest:"drill" doc:"Drills that must be open."`
	Test     []authored.Text `yaml:"test_first" suggest:"drill" doc:"Drills that must wait for a test."`
	Barred   []authored.Text `yaml:"barred" suggest:"drill" doc:"Drills that some rule must bar."` // by some rule, whichever
	BarredBy ByRule          `yaml:"barred_by" doc:"Drills under the rule that must bar them."`
	Cautions ByRule          `yaml:"cautions" doc:"Drills under the rule that must warn of them."`
	Doses    ByRule          `yaml:"doses" doc:"Drills under the dose that they must get."`
	// rules that hold for sure, where it counts
	Holds  []authored.Text `yaml:"holds" doc:"Ids of rules that must hold for sure, where it counts."`
	Silent []authored.Text `yaml:"silent" doc:"Ids of rules that must hold for nothing, not even as far as can be told."`
}

// CaseRefer is a referral that must be there; what isn't given may be anything.
type CaseRefer struct {
	At      authored.Pos
	Rule    authored.Text `yaml:"rule" doc:"The rule that refers."`
	Urgency authored.Text `yaml:"urgency" of:"urgency" doc:"How soon."`
	Scope   authored.Text `yaml:"scope" of:"scope" doc:"The person, a region or a class of drills."`
}

// Outcomes of screening, as a case names them.
var caseOutcomes = []string{"no_warning_signs_found", "see_professional_first", "questions_first"}

// maxCases is the size of a book's cases (290): all are run before it is published.
const maxCases = 2000

// Cases reads the cases of an edition. The decoder takes their mistakes of form, and knows afterwards where every part
// of them stands.
func (e *Edition) Cases(d *authored.Decoder) []*Case {
	return readCases(d, e.files)
}

// checkCases reads the cases of a draft and holds every word of them against the edition. Those of its base are left: what
// they name may be gone, and then they fail when they are run.
func (r *editionReader) checkCases(e *Edition, draft []authored.File) {
	own := slices.DeleteFunc(slices.Clone(r.docs), func(d document) bool {
		return !slices.ContainsFunc(draft, func(f authored.File) bool { return f.Name == d.Name })
	})
	c := caseChecker{Report: r.Report, e: e, drills: e.Catalogue.DrillIDs()}
	for _, one := range readCases(r.Decoder, own) {
		c.check(one)
	}
}

// caseNodes are the files of cases, by name: which case stands before which doesn't hang on the order they came in.
func caseNodes(d *authored.Decoder, docs []document) []*yaml.Node {
	docs = slices.DeleteFunc(slices.Clone(docs), func(d document) bool { return !d.isOf(ofCases) })
	slices.SortFunc(docs, func(a, b document) int { return strings.Compare(a.Name, b.Name) })
	var tops []*yaml.Node
	for _, doc := range docs {
		if doc.top == nil {
			doc.top = d.Parse(doc.File)
		}
		if doc.top != nil {
			tops = append(tops, doc.top)
		}
	}
	return tops
}

func readCases(d *authored.Decoder, docs []document) []*Case {
	var all []*Case
	each(caseNodes(d, docs), ofCases, func(_ string, n *yaml.Node) {
		var some []*Case
		d.Decode(n, &some)
		for _, c := range some {
			if c.At.Source != nil { // what isn't a mapping has been reported
				all = append(all, c)
			}
		}
	})
	if len(all) > maxCases {
		d.Add(all[maxCases].At, "a book has at most %d cases", maxCases)
		all = all[:maxCases]
	}
	before := map[string]*Case{}
	for _, c := range all {
		switch first := before[c.ID.Value]; {
		case !ruleID.MatchString(c.ID.Value):
			d.Suggest(c.At, "ids are words in lower case joined by -", "case id %q is not an id", c.ID.Value)
		case first != nil:
			d.Add(c.ID.At, "%q stands in %s too; ids are given once", c.ID.Value, first.At)
		}
		c.liken(d, before)
		if _, ok := before[c.ID.Value]; !ok {
			before[c.ID.Value] = c
		}
	}
	return all
}

// liken works the client of a case that stands before into this one's.
func (c *Case) liken(d *authored.Decoder, before map[string]*Case) {
	if c.Client.Node != nil && c.Client.Kind != yaml.MappingNode {
		d.Add(d.At(c.Client.Node), "the client must be a mapping with the fields of a client file")
		c.Client.Node = nil
		return
	}
	if c.Like.Value == "" {
		if c.Client.Node == nil {
			d.Suggest(c.At, "add client: with the fields of a client file, or like: a case that stands before", "case %q has no client", c.ID.Value)
		}
		return
	}
	base := before[c.Like.Value]
	if base == nil {
		var known []string
		for id := range before {
			known = append(known, id)
		}
		slices.Sort(known)
		d.Suggest(c.Like.At, authored.DidYouMean(c.Like.Value, known), "no case %q stands before this one", c.Like.Value)
		return
	}
	if base.Client.Node == nil {
		return // reported there
	}
	own := c.Client.Node
	if own == nil {
		c.Client = base.Client
		return
	}
	joined := *own
	joined.Content = nil
	for i := 0; i+1 < len(base.Client.Content); i += 2 {
		if key := base.Client.Content[i]; !hasKey(own, key.Value) {
			joined.Content = append(joined.Content, key, base.Client.Content[i+1])
		}
	}
	joined.Content = append(joined.Content, own.Content...)
	c.Client.Node = &joined
	d.Adopt(&joined, own)
}

func hasKey(n *yaml.Node, key string) bool {
	for i := 0; i+1 < len(n.Content); i += 2 {
		if n.Content[i].Value == key {
			return true
		}
	}
	return false
}
