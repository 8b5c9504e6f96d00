package rules

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	"drillwright/rules/client"
	"drillwright/rules/language"
)

// SourceEntry is one publication, given once; rules cite it by its id.
type SourceEntry struct {
	At          authored.Pos
	ID          authored.Text            `yaml:"id" need:"yes" id:"kebab" doc:"The id that rules cite: first author and year, as riebe-2015."`
	Authors     authored.Several[string] `yaml:"authors" need:"yes" items:"1.." doc:"The authors in order, as Riebe D, or who published it; et al. ends a list that is cut short."`
	Year        int                      `yaml:"year" need:"yes" range:"1800..2100" doc:"The year it was published; of a page that doesn't say, the year it was read."`
	Title       string                   `yaml:"title" need:"yes" doc:"Its title."`
	PublishedIn string                   `yaml:"published_in" need:"yes" doc:"The journal with volume and pages, or the publisher."`
	Identifier  string                   `yaml:"identifier" doc:"doi:, pmid: or isbn: with the identifier, the number of a guideline, or the address of a page."`
	Says        string                   `yaml:"says" need:"yes" doc:"What it says that the rules use, in our own words."`
	Seen        *bool                    `yaml:"seen" need:"yes" doc:"True when somebody has read there what says: states; false when that is from memory."`
	Unsure      string                   `yaml:"unsure" doc:"Of a source that was not seen: what is unsure."`

	Floor   bool     // stands under every book
	CitedBy []string // rules, doses, cautions, plans, drills and motions by id, sorted; tables by the key of their file
}

// Shape implements authored.Shaped.
func (SourceEntry) Shape(s *authored.Schema) {
	seen := func(is bool) *authored.Schema {
		return &authored.Schema{Required: []string{"seen"}, Properties: map[string]*authored.Schema{"seen": {Enum: []any{is}}}}
	}
	s.With(seen(false), authored.Has("unsure"))
	s.With(seen(true), authored.Has("identifier"))
}

// Short is the source as answers name it: Riebe D et al. 2015.
func (s *SourceEntry) Short() string {
	if len(s.Authors) == 0 {
		return s.ID.Value // it has been reported
	}
	names := s.Authors[0]
	switch {
	case len(s.Authors) == 2 && s.Authors[1] != "et al.":
		names += " & " + s.Authors[1]
	case len(s.Authors) > 1:
		names += " et al."
	}
	return fmt.Sprintf("%s %d", names, s.Year)
}

// Source says where a rule comes from.
type Source struct {
	At    authored.Pos
	Kind  string // published, common_practice, memory or judged
	Cites []*SourceEntry
	Note  string
	// Text is what answers say.
	Text string
}

// unsure is whether the note, or an entry that is cited, says what is unsure.
func (s *Source) Unsure() bool {
	return s.Note != "" || slices.ContainsFunc(s.Cites, func(e *SourceEntry) bool { return e.Unsure != "" })
}

// likeID is what is meant for an id: a citation that is written out has blanks.
var LikeID = regexp.MustCompile(`^[\pL\d]+([-_][\pL\d]+)+$`)

// year is what an id has of figures: with another it may be another paper.
func year(id string) string {
	return strings.Map(func(r rune) rune {
		if '0' <= r && r <= '9' {
			return r
		}
		return -1
	}, id)
}

// identifiers that have a form of their own.
var identifiers = map[string]*regexp.Regexp{
	"doi":  regexp.MustCompile(`^doi:10\.\d{4,9}/\S+$`),
	"pmid": regexp.MustCompile(`^pmid:\d{1,8}$`),
	"isbn": regexp.MustCompile(`^isbn:[\d-]{9,16}[\dX]$`),
}

func (b *bookReader) sourceEntries(n *yaml.Node) {
	var entries []*SourceEntry
	b.Decode(n, &entries)
	for _, e := range entries {
		if len(b.book.Sources) == maxSources {
			b.Suggest(e.At, "take out those that nothing cites", "a book has at most %d sources", maxSources)
			return
		}
		e.Floor, e.ID.Value = b.floor, b.identify(b.sourceSeen, e.ID, e.At, "source")
		b.sourceEntry(e)
		if b.sources[e.ID.Value] == nil {
			b.sources[e.ID.Value] = e
			b.book.Sources = append(b.book.Sources, e)
		}
	}
}

func (b *bookReader) sourceEntry(e *SourceEntry) {
	e.Authors = slices.DeleteFunc(e.Authors, func(a string) bool { return strings.TrimSpace(a) == "" })
	wants := func(lacks bool, suggestion, format string, args ...any) {
		if lacks {
			b.Suggest(e.At, suggestion, format, args...)
		}
	}
	wants(len(e.Authors) == 0, "add authors: [Riebe D, Franklin BA], or who published it", "source %q names no author", e.ID.Value)
	wants(e.Year == 0, "add year: and the year it was published; of a page that doesn't say, the year it was read",
		"source %q has no year", e.ID.Value)
	wants(e.Title == "", "add title: and its title", "source %q has no title", e.ID.Value)
	wants(e.PublishedIn == "", "add published_in: the journal with volume and pages, or the publisher",
		"source %q doesn't say where it was published", e.ID.Value)
	wants(e.Says == "", "add says: what it says that rules use, in your own words", "source %q doesn't say what rules take from it",
		e.ID.Value)
	switch {
	case e.Seen == nil:
		b.Suggest(e.At, "add seen: true if you have read it there, seen: false if it is from memory",
			"source %q doesn't say whether it was seen", e.ID.Value)
	case *e.Seen:
		wants(e.Unsure != "", "take unsure: out, or write seen: false", "source %q was seen, and says what is unsure", e.ID.Value)
		wants(e.Identifier == "", "add identifier: doi:…, pmid:…, isbn:…, the number of a guideline or the address of a page",
			"source %q was seen, and nobody can find it again", e.ID.Value)
	default:
		wants(e.Unsure == "", "add unsure: what you would look up", "source %q is from memory, and doesn't say what is unsure", e.ID.Value)
	}
	scheme, _, _ := strings.Cut(e.Identifier, ":")
	if form := identifiers[scheme]; form != nil && !form.MatchString(e.Identifier) {
		b.Suggest(e.At, "write doi:10.1249/MSS.0000000000000664, pmid:26473759 or isbn:978-1496339065", "source %q: %q is no %s", e.ID.Value,
			language.Short(e.Identifier), scheme)
	}
	for _, text := range append([]string{e.Title, e.PublishedIn, e.Identifier, e.Says, e.Unsure}, e.Authors...) {
		wants(len([]rune(text)) > language.MaxText, "say it shorter", "source %q: a text is longer than %d letters", e.ID.Value, language.MaxText)
	}
}

// source reads where something comes from. What sends somebody away cites entries of sources, and so does the floor;
// everything else may write its citation out.
func (b *bookReader) source(raw rawSource, at authored.Pos, by string, strict bool) Source {
	raw.Cite = slices.DeleteFunc(raw.Cite, func(c authored.Text) bool { return c.Value == "" })
	switch {
	case raw.Kind.Value == "":
		b.Suggest(at, "add source: {kind: published, cite: …}, or kind: common_practice, memory or judged", "%q names no source", by)
	case !slices.Contains(words["source"], raw.Kind.Value):
		raw.Kind.Value = b.Unknown(raw.Kind.At, "kind of source", raw.Kind.Value, words["source"])
	case raw.Kind.Value == "published" && len(raw.Cite) == 0 && strict:
		b.Suggest(raw.At, "add cite: and the id of an entry under sources:, or write kind: memory", "a published source needs its cite")
	case raw.Kind.Value == "published" && len(raw.Cite) == 0:
		b.Suggest(raw.At, "add cite: with author and year, or write kind: memory", "a published source needs its cite")
	}
	return b.citing(raw, by, strict)
}

func (b *bookReader) citing(raw rawSource, by string, strict bool) Source {
	s := Source{At: raw.At, Kind: raw.Kind.Value, Note: raw.Note}
	var texts []string
	// recalled: the papers were seen, and what is taken from them is from memory.
	recalled := s.Kind == "memory" && !slices.ContainsFunc(raw.Cite, func(c authored.Text) bool {
		entry := b.sources[c.Value]
		return entry == nil || !entry.seen()
	})
	for _, c := range raw.Cite {
		entry := b.cited(c, by, strict)
		switch {
		case entry != nil && slices.Contains(s.Cites, entry):
			b.Suggest(c.At, "once is enough", "%q is cited twice", c.Value)
		case entry != nil:
			s.Cites = append(s.Cites, entry)
			texts = append(texts, entry.Short()+fromMemory(!entry.seen() || recalled))
		default:
			texts = append(texts, c.Value+fromMemory(s.Kind == "memory"))
		}
	}
	b.kindAgrees(raw, &s, strict)
	s.Text = sourceText(s.Kind, texts)
	return s
}

func (s *SourceEntry) seen() bool { return s.Seen != nil && *s.Seen }

func fromMemory(is bool) string {
	if is {
		return " (from memory)"
	}
	return ""
}

func sourceText(kind string, cites []string) string {
	switch {
	case kind == "judged":
		return "judged"
	case kind == "memory" && len(cites) == 0:
		return "from memory"
	case kind == "memory" || kind == "published":
		return strings.Join(cites, "; ")
	}
	return "common practice"
}

// cited finds the entry of a citation; nil where it is written out, or there is none.
func (b *bookReader) cited(cite authored.Text, by string, strict bool) *SourceEntry {
	entry := b.sources[cite.Value]
	if entry == nil && (strict || LikeID.MatchString(cite.Value)) {
		entry = b.sources[b.meantSource(cite)]
	}
	if entry != nil {
		entry.citedBy(by)
	}
	return entry
}

// meantSource reports a citation that is no id of an entry, and returns the id that must be meant.
func (b *bookReader) meantSource(cite authored.Text) string {
	if b.texts.Stopped(cite.At) {
		return ""
	}
	if LikeID.MatchString(cite.Value) {
		ids := make([]string, len(b.book.Sources))
		for i, e := range b.book.Sources {
			ids[i] = e.ID.Value
		}
		if sure := authored.Misspelt(cite.Value, ids); sure != "" && year(sure) == year(cite.Value) {
			return b.Unknown(cite.At, "source", cite.Value, ids)
		}
		b.Suggest(cite.At, cmp.Or(authored.DidYouMean(cite.Value, ids), entryWanted), "unknown source %q", language.Short(cite.Value))
		return ""
	}
	const message = "a rule that refers cites entries of sources by id, not %q"
	switch same, near := b.writtenOut(cite.Value); {
	case same != nil:
		b.Fix(cite.At, authored.Replace(cite.At, cite.Value, same.ID.Value), "write "+same.ID.Value, message, language.Short(cite.Value))
		return same.ID.Value
	case near != nil:
		b.Suggest(cite.At, "did you mean "+near.ID.Value+"?", message, language.Short(cite.Value))
	default:
		b.Suggest(cite.At, entryWanted, message, language.Short(cite.Value))
	}
	return ""
}

const entryWanted = "give it an entry under sources: and cite its id"

// writtenOut finds the only entry of which a text is the short form, and the only one with its year and first word.
func (b *bookReader) writtenOut(text string) (same, near *SourceEntry) {
	var is, like []*SourceEntry
	for _, e := range b.book.Sources {
		if e.Short() == text {
			is = append(is, e)
		}
		first, _, _ := strings.Cut(e.Short(), " ")
		if strings.HasPrefix(text, first+" ") && strings.Contains(text, strconv.Itoa(e.Year)) {
			like = append(like, e)
		}
	}
	if len(is) == 1 {
		same = is[0]
	}
	if len(like) == 1 {
		near = like[0]
	}
	return same, near
}

// kindAgrees holds the kind of a source against what is cited: published is what was seen. Where nobody is referred, what a rule takes
// from a paper that was seen may be from memory all the same; its note says what.
func (b *bookReader) kindAgrees(raw rawSource, s *Source, strict bool) {
	unseen := slices.IndexFunc(s.Cites, func(e *SourceEntry) bool { return e.Seen != nil && !*e.Seen })
	switch {
	case s.Kind == "published" && unseen >= 0:
		b.Suggest(raw.Kind.At, "write kind: memory; or read it, and write seen: true there", "%q is published, and its entry was not seen",
			s.Cites[unseen].ID.Value)
	case s.Kind == "memory" && len(s.Cites) > 0 && len(s.Cites) == len(raw.Cite) && unseen < 0 && (strict || s.Note == ""):
		suggestion := "write kind: published, and say in note: what else is from memory"
		if !strict {
			suggestion = "write kind: published, or say in note: what is from memory"
		}
		b.Suggest(raw.Kind.At, suggestion, "all that is cited was seen")
	case strict && len(raw.Cite) > 0 && (s.Kind == "common_practice" || s.Kind == "judged"):
		b.Suggest(raw.Kind.At, "take cite: out, or write kind: published or memory", "%s has no source to cite", s.Kind)
	}
}

// frameSources holds the sources of ladders and measures against the entries.
func (b *bookReader) frameSources() {
	check := func(s client.Source, by string) {
		b.citing(rawSource{At: s.At, Kind: s.Kind, Cite: s.Cite, Note: s.Note}, by, false)
	}
	for _, l := range b.frame.Ladders {
		check(l.Source, "ladders")
	}
	check(b.frame.Measures.Source, "measures")
	check(b.frame.Measures.Loads.Source, "measures")
	check(b.frame.Measures.Loads.Start.Source, "measures")
	for i := range b.frame.Measures.Loads.Shares.Of {
		check(b.frame.Measures.Loads.Shares.Of[i].Source, "measures")
	}
}

// catalogueSources counts the entries that drills and norms cite. What is no id of an entry stands as it is written: a catalogue may
// come from elsewhere, with sources of its own.
func (b *bookReader) catalogueSources(snap *catalog.Snapshot) {
	EachCitation(snap, func(c authored.Text, by string) {
		if entry := b.sources[c.Value]; entry != nil {
			entry.citedBy(by)
		}
	})
}

// eachCitation calls do for all that a catalogue cites, by the id of the drill or motion.
func EachCitation(snap *catalog.Snapshot, do func(cite authored.Text, by string)) {
	for _, d := range snap.Drills {
		for _, c := range d.TagsFrom.Cite {
			do(c, d.ID)
		}
	}
	for i := range snap.Vocabulary.Motions {
		m := &snap.Vocabulary.Motions[i]
		for _, n := range m.Norms {
			for _, c := range n.Cite {
				do(c, m.ID)
			}
		}
	}
}

func (s *SourceEntry) citedBy(by string) {
	if !slices.Contains(s.CitedBy, by) {
		s.CitedBy = append(s.CitedBy, by)
	}
}

// Source finds an entry by its id; nil when there is none.
func (b *Book) Source(id string) *SourceEntry {
	for _, s := range b.Sources {
		if s.ID.Value == id {
			return s
		}
	}
	return nil
}

// Cited is what the catalogue cites, in words: an entry as answers name it, everything else as it is written.
func (e *Edition) Cited(cites []authored.Text) string {
	texts := make([]string, len(cites))
	for i, c := range cites {
		texts[i] = c.Value
		if entry := e.Book.Source(c.Value); entry != nil {
			texts[i] = entry.Short() + fromMemory(!entry.seen())
		}
	}
	return strings.Join(texts, "; ")
}

// sortSources puts entries and those who cite them in order.
func (b *Book) sortSources() {
	slices.SortFunc(b.Sources, func(x, y *SourceEntry) int { return cmp.Compare(x.ID.Value, y.ID.Value) })
	for _, e := range b.Sources {
		slices.Sort(e.CitedBy)
	}
}

// checkSourcesUsed is the other direction: each entry of the draft's author is cited. A draft without rules may be meant
// for rules that aren't there.
func (r *editionReader) checkSourcesUsed(e *Edition, draft []authored.File) {
	own := func(name string) bool {
		return slices.ContainsFunc(draft, func(f authored.File) bool { return f.Name == name })
	}
	if !slices.ContainsFunc(r.docs, func(d document) bool { return own(d.Name) && d.isOf([]string{"rules"}) }) {
		return
	}
	for _, s := range e.Book.Sources {
		if len(s.CitedBy) == 0 && !s.Floor && own(s.At.Source.Name) {
			r.Suggest(s.ID.At, "cite it where it belongs, or take it out", "nothing cites the source %q", s.ID.Value)
		}
	}
}
