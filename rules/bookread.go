package rules

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	"drillwright/rules/client"
	"drillwright/rules/language"
	"drillwright/rules/predicate"
)

// bookReader reads the kinds of a rulebook: sources, rules, doses, cautions, plans, substitute. Ladders, screening and
// measures have been read into the frame.
type bookReader struct {
	*authored.Decoder
	texts *language.Reader
	frame *client.Frame
	book  *Book
	seen  map[string]authored.Pos
	// sources by id, and where each id stands.
	sources    map[string]*SourceEntry
	sourceSeen map[string]authored.Pos
	stands     map[string]authored.Pos // by top key: where its last value stands
	floor      bool
}

// The limits of a book, far above what honest ones need. In brackets: about the most that the embedded book uses.
const (
	// The size of a book (340, 40, 30 and 10 with the floor).
	maxRules, maxDoses, maxAdvices, maxPlans = 10_000, 1000, 1000, 100
	// maxSources is how many publications a book lists (40 with the floor).
	maxSources = 1000
	// maxPlaces and maxPlanLimits keep the search for the best session short (10 and 5).
	maxPlaces, maxPlanLimits = 10, 8
)

var ruleID = regexp.MustCompile(`^[a-z][a-z0-9]*(-[a-z0-9]+)*$`)

func newBookReader(d *authored.Decoder, frame *client.Frame, tags *language.Tags, had language.Texts) *bookReader {
	return &bookReader{Decoder: d, texts: language.NewReader(d.Report, frame, tags, had), frame: frame, book: &Book{},
		seen:   map[string]authored.Pos{},
		stands: map[string]authored.Pos{}, sources: map[string]*SourceEntry{}, sourceSeen: map[string]authored.Pos{}}
}

// readBook reads floor and book; the floor's rules are marked and stand first.
func readBook(d *authored.Decoder, snap *catalog.Snapshot, frame *client.Frame, tags *language.Tags, had language.Texts,
	docs []*yaml.Node) (
	*Book, language.Texts) {
	reader := newBookReader(d, frame, tags, had)
	for _, keys := range [][]string{{"sources"}, ofBook[1:]} { // rules name sources
		each(docs, keys, func(key string, n *yaml.Node) {
			reader.floor = strings.HasPrefix(d.At(n).Source.Name, floorFolder)
			reader.stands[key] = d.At(n)
			reader.read(key, n)
		})
	}
	reader.frameSources()
	reader.catalogueSources(snap)
	reader.loosen()
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
	book.sortSources()
	slices.SortFunc(book.Plans, func(a, b *Plan) int { return strings.Compare(a.ID, b.ID) })
	book.of = map[Effect][]*Rule{}
	for _, r := range book.Rules {
		book.of[r.Effect] = append(book.of[r.Effect], r)
	}
	book.of[Dosing] = book.Doses
	book.check(d.Report, reader.stands)
	return book, reader.texts.Texts()
}

func (b *bookReader) read(kind string, n *yaml.Node) {
	switch kind {
	case "sources":
		b.sourceEntries(n)
	case "rules":
		var raw []rawRule
		b.Decode(n, &raw)
		for i := range raw {
			if b.full(raw[i].At, len(b.book.Rules), maxRules, "rules") {
				break
			}
			b.rule(&raw[i])
		}
	case "doses":
		var raw []rawDose
		b.Decode(n, &raw)
		for i := range raw {
			if b.full(raw[i].At, len(b.book.Doses), maxDoses, "doses") {
				break
			}
			b.dose(&raw[i])
		}
	case "cautions":
		var raw []rawAdvice
		b.Decode(n, &raw)
		for i := range raw {
			if b.full(raw[i].At, len(b.book.Advices), maxAdvices, "cautions") {
				break
			}
			b.advice(&raw[i])
		}
	case "plans":
		var plans []*Plan
		b.Decode(n, &plans)
		for _, p := range plans {
			if b.full(p.At, len(b.book.Plans), maxPlans, "plans") {
				break
			}
			b.plan(p)
		}
	case "substitute":
		b.Decode(n, &b.book.Substitution)
		if s := &b.book.Substitution; s.NearEnough == 0 && s.ElsewhereAtMost == 0 {
			s.NearEnough, s.ElsewhereAtMost = 3, 2
		}
		b.source(b.book.Substitution.Source, b.book.Substitution.At, "substitute", b.floor)
	case "review":
		b.book.Review = &Review{}
		b.Decode(n, b.book.Review)
	case "about":
		b.noReviewer(n)
		b.Decode(n, &b.book.About)
		if percent := b.book.About.ChurnBudget; percent != nil && (*percent < 0 || *percent > 100) {
			b.Suggest(b.At(n), "write 0 to 100, or leave it out", "churn_budget_percent is %v", *percent)
		}
	}
}

// identify checks an id and that it is given once among those seen. It returns the id, or the one that must be meant.
func (b *bookReader) identify(seen map[string]authored.Pos, id authored.Text, at authored.Pos, what string) string {
	switch first, ok := seen[id.Value]; {
	case id.Value == "":
		b.Suggest(at, "add id: and words in lower case joined by -", "a %s without an id", what)
	case !ruleID.MatchString(id.Value):
		return b.badID(seen, id, what)
	case ok:
		b.Suggest(id.At, "give this one another id", "%q stands in %s too; ids are given once", id.Value, first)
	default:
		seen[id.Value] = id.At
	}
	return id.Value
}

// badID reports an id that isn't one; its letters and figures, joined as they should be, are what is meant.
func (b *bookReader) badID(seen map[string]authored.Pos, id authored.Text, what string) string {
	meant := strings.Join(strings.FieldsFunc(strings.ToLower(id.Value),
		func(r rune) bool { return !('a' <= r && r <= 'z' || '0' <= r && r <= '9') }), "-")
	_, taken := seen[meant]
	if !ruleID.MatchString(meant) || taken {
		b.Suggest(id.At, "ids are words in lower case joined by -", "%s id %q is not an id", what, language.Short(id.Value))
		return id.Value
	}
	seen[meant] = id.At
	b.Fix(id.At, authored.Replace(id.At, id.Value, meant), "ids are words in lower case joined by -: "+meant, "%s id %q is not an id", what,
		language.Short(id.Value))
	return meant
}

// oneOf is a word that must be one of the known, or the one of them that must be meant.
func (b *bookReader) oneOf(t authored.Text, what string, known []string) string {
	if t.Value == "" || slices.Contains(known, t.Value) {
		return t.Value
	}
	if sure := b.Unknown(t.At, what, t.Value, known); sure != "" {
		return sure
	}
	return t.Value
}

func (b *bookReader) rule(raw *rawRule) {
	id := b.identify(b.seen, raw.ID, raw.At, "rule")
	effect := Effect(b.oneOf(raw.Effect, "effect", words["effect"]))
	rule := &Rule{At: raw.At, ID: id, Effect: effect, Floor: b.floor, CodeText: raw.When.Value,
		Source: b.source(raw.Source, raw.At, id, b.floor || effect.cites())}
	for _, c := range raw.Adjust {
		rule.Adjust = append(rule.Adjust, Adjustment{slices.Index(Variables, c.Key), c.Value})
	}
	b.common(rule, raw.When, raw.Because, raw.Untested)
	b.fields(rule, raw)
	b.book.Rules = append(b.book.Rules, rule)
}

// common reads what every kind of rule has: condition and words.
func (b *bookReader) common(rule *Rule, when, because, untested authored.Text) {
	known := rule.Effect.trait() != nil
	roots := cmp.Or(rule.Effect.trait(), Bar.trait()).roots() // one without an effect is read as a bar, so that all mistakes come at once
	if rule.Effect == "" {
		b.Suggest(rule.At, "write effect: refer, bar, caution, favour or adjust", "rule %q has no effect", rule.ID)
	}
	if when.Value == "" {
		b.Suggest(rule.At, `add when: with a condition in double quotes, or "true"`, "rule %q has no when", rule.ID)
	}
	if because.Value == "" {
		b.Suggest(rule.At, "say in a sentence why, with the figures in braces", "rule %q has no because", rule.ID)
	}
	rule.written = when
	before := b.Count()
	if when.Value != "" {
		rule.When = b.texts.Predicate(when, roots)
	}
	domain, broken := "", rule.When == nil || b.Count() > before
	if rule.When != nil {
		if rule.Domain = rule.When.DomainNode(); rule.Domain != nil {
			domain = rule.Domain.Domain
		}
	} else if m := unrolls.FindStringSubmatch(when.Value); m != nil {
		domain = m[1]
	}
	rule.Because = b.texts.Sentence(because, append(slices.Clone(roots), "drill"), domain, broken)
	if untested.Value != "" {
		rule.Untested = b.texts.Sentence(untested, append(slices.Clone(roots), "drill"), domain, broken)
	}
	if known && rule.When != nil {
		b.measuredOnlyWhereSafe(rule, when.At)
		b.untestedWhereNeeded(rule, untested.Value != "")
	}
}

// unrolls finds the domain that a condition which couldn't be read must go over.
var unrolls = regexp.MustCompile(`\b(?:any|all)\s*\(?\s*(motions|regions|stressors)\b`)

// untestedWhereNeeded: a bar that a test could settle says so in words of its own.
func (b *bookReader) untestedWhereNeeded(rule *Rule, untested bool) {
	testable := rule.When.Reads(func(r *predicate.Ref) bool { return r.Path != nil && r.Path.Measure != "" })
	if rule.Effect == Bar && testable && !untested {
		b.Suggest(rule.At, "add untested: what is said when the measure was not taken", "rule %q has no untested", rule.ID)
	}
}

// measuredOnlyWhereSafe: what tightens may ask for a measurement only under not, what loosens only bare.
func (b *bookReader) measuredOnlyWhereSafe(rule *Rule, at authored.Pos) {
	var look func(n *predicate.Node, under bool)
	look = func(n *predicate.Node, under bool) {
		if n.Op == predicate.Measured && under != rule.Tightens() {
			b.Suggest(at, "what tightens may ask for it only under not, what loosens only bare",
				"measured(…) stands where an unmeasured fact would make a drill look better")
		}
		for _, k := range n.Kids {
			look(k, under != (n.Op == predicate.Not))
		}
	}
	look(rule.When, false)
}

// fields reads what belongs to one effect, and refuses what belongs to another.
func (b *bookReader) fields(rule *Rule, raw *rawRule) {
	for _, t := range traits {
		for _, own := range t.keys {
			switch given := raw.has(own.key); {
			case given && rule.Effect != t.effect:
				b.Suggest(raw.At, fmt.Sprintf("take it out, or write effect: %s", t.effect), "rule %q has %s, which belongs to %s rules", rule.ID,
					own.key, t.effect)
			case !given && rule.Effect == t.effect && own.wanted != "":
				b.Suggest(raw.At, "add "+own.key+": "+own.wanted, "rule %q has no %s", rule.ID, own.key)
			}
		}
	}
	if raw.Points != nil {
		rule.Points = *raw.Points
	}
	rule.Treats = raw.Treats != nil && *raw.Treats
	if rule.Effect == Refer {
		rule.Urgency = b.oneOf(raw.Urgency, "urgency", Urgencies)
		rule.Scope = b.oneOf(raw.Scope, "scope", words["scope"])
		b.referral(rule, raw)
	}
	for _, e := range raw.Adjust {
		b.oneOf(authored.Text{Value: e.Key, At: e.At}, "variable", Variables)
		b.change(e)
	}
}

func (b *bookReader) referral(rule *Rule, raw *rawRule) {
	if raw.Region.Value != "" {
		rule.Region = b.oneOf(raw.Region, "region", b.frame.Vocabulary.IDs("region"))
	}
	if rule.Scope == "region" && rule.Region == "" && (rule.Domain == nil || rule.Domain.Domain != "regions") {
		b.Suggest(raw.At, "add region:, or say any(regions, …) in when", "rule %q refers a region and doesn't say which", rule.ID)
	}
	if rule.Scope == "class" {
		if raw.Drills.Value == "" {
			b.Suggest(raw.At, "add drills: with a condition over drill", "rule %q refers a class of drills and doesn't say which", rule.ID)
			return
		}
		rule.class = b.texts.Predicate(raw.Drills, []string{"drill"})
	}
}

func (b *bookReader) change(e authored.Entry[Change]) {
	given := 0
	for _, v := range []*float64{e.Value.Times, e.Value.Add, e.Value.Set, e.Value.Cap} {
		if v != nil {
			given++
		}
	}
	if given != 1 {
		b.Suggest(e.At, "write one of {times: …}, {add: …}, {set: …}, {cap: …}", "%s is changed in %d ways", e.Key, given)
	}
}

func (b *bookReader) dose(raw *rawDose) {
	id := b.identify(b.seen, raw.ID, raw.At, "dose")
	rule := &Rule{At: raw.At, ID: id, Effect: Dosing, Dose: raw.Dose, CodeText: raw.When.Value,
		Source: b.source(raw.Source, raw.At, id, b.floor)}
	b.common(rule, raw.When, raw.Because, authored.Text{})
	for what, ends := range map[string][]int{"reps": raw.Dose.Reps, "hold_seconds": raw.Dose.HoldSeconds, "effort": raw.Dose.Effort} {
		if len(ends) != 0 && (len(ends) != 2 || ends[0] > ends[1] || ends[0] < 0) {
			b.Suggest(raw.At, "write "+what+": [least, most]", "dose %q: %s needs two numbers, the smaller first", rule.ID, what)
		}
	}
	if raw.Dose.Sets < 1 || len(raw.Dose.Effort) != 2 || len(raw.Dose.Reps)+len(raw.Dose.HoldSeconds) == 0 && raw.Dose.Metres == 0 {
		b.Suggest(raw.At, "write dose: {sets: 2, reps: [8, 12], effort: [4, 5]}", "dose %q needs sets, effort, and reps, hold_seconds or metres",
			rule.ID)
	}
	b.book.Doses = append(b.book.Doses, rule)
}

func (b *bookReader) advice(raw *rawAdvice) {
	id := b.identify(b.seen, raw.ID, raw.At, "caution")
	rule := &Rule{At: raw.At, ID: id, Effect: Advise, CodeText: raw.When.Value, Floor: b.floor,
		Source: b.source(raw.Source, raw.At, id, b.floor)}
	b.common(rule, raw.When, raw.Text, authored.Text{})
	if raw.Emergency.Value != "" {
		rule.Emergency = b.oneOf(raw.Emergency, "word", words["in emergency"])
	}
	b.book.Advices = append(b.book.Advices, rule)
}

func (b *bookReader) plan(p *Plan) {
	p.ID = b.identify(b.seen, authored.Text{Value: p.ID, At: p.At}, p.At, "plan")
	b.source(p.Source, p.At, p.ID, b.floor)
	if p.Minutes < 1 || len(p.Slots) == 0 {
		b.Suggest(p.At, "write minutes: 45, and slots: with a dash for each", "plan %q needs minutes and slots", p.ID)
	}
	for _, region := range p.Regions {
		b.oneOf(region, "region", b.frame.Vocabulary.IDs("region"))
	}
	places := 0
	for i := range p.Slots {
		s := &p.Slots[i]
		s.Count = max(s.Count, 1)
		places += s.Count
		if purposes := b.frame.Vocabulary.Words("purpose"); s.Purpose == "" {
			b.Suggest(s.At, "add purpose: and one of "+strings.Join(purposes, ", "), "slot %q has no purpose", s.ID)
		} else if !slices.Contains(purposes, s.Purpose) {
			b.Unknown(s.At, "purpose", s.Purpose, purposes)
		}
		s.Predicate = b.texts.Predicate(s.Where, []string{"drill", "client", "request", "side"})
	}
	if places > maxPlaces || len(p.Limits) > maxPlanLimits {
		b.Suggest(p.At, fmt.Sprintf("a plan has at most %d places and %d limits", maxPlaces, maxPlanLimits),
			"plan %q has %d places and %d limits", p.ID, places, len(p.Limits))
	}
	for i := range p.Limits {
		l := &p.Limits[i]
		l.Sum = b.texts.Number(l.Total, []string{"drill", "dose"})
		l.Low, l.High = b.texts.Number(l.AtLeast, []string{"request"}), b.texts.Number(l.AtMost, []string{"request"})
		if l.AtLeast.Value == "" && l.AtMost.Value == "" {
			b.Suggest(l.At, "add at_most: or at_least: and a number", "limit %q needs at_least or at_most", l.ID)
		}
	}
	b.book.Plans = append(b.book.Plans, p)
}

// full says that a book has as many of a kind as it may; those after are not read.
func (b *bookReader) full(at authored.Pos, have, most int, what string) bool {
	if have < most {
		return false
	}
	b.Suggest(at, "one rule can name many words: in ['a', 'b']", "a book has at most %d %s", most, what)
	return true
}
