package rules

import (
	"bytes"
	"fmt"
	"path"
	"slices"
	"strconv"
	"strings"
	"sync"

	"go.yaml.in/yaml/v3"

	"drillwright/catalog/authored"
)

// UpgradeDraft is what a draft of an older format becomes; nil where it is of this program's. A draft of some kinds alone, which says
// no format, has that of its base, and is taken here for one of the first. The error is authored.Problems.
func UpgradeDraft(draft, base []authored.File) (*OldFormat, error) {
	r := newEditionReader(nil, draft)
	own := slices.ContainsFunc(r.docs, func(d document) bool { return d.isOf([]string{"about"}) })
	r.complete(r.base(base))
	number, _, about := r.formatOf()
	switch {
	case !own && about != nil:
		number = 1
	case number >= Format:
		return nil, r.checkFormat(draft)
	}
	return r.upgrade(number, draft), nil
}

// Upgrade is what a whole edition of an older format becomes; nil where it is of this program's. Its files that are still as they
// came with an earlier program give way to those that come with this one. The error is authored.Problems.
func Upgrade(files, came []authored.File) (*OldFormat, error) {
	r := newEditionReader(nil, files)
	number, _, _ := r.formatOf()
	if number >= Format {
		return nil, r.checkFormat(files)
	}
	files = withoutReview(files)
	now, names := renewed(files, came)
	old := newEditionReader(nil, now).upgrade(number, now)
	old.Renewed = names
	return old, nil
}

// renewed are the files of an edition in which nobody has edited what came with an earlier program: those are as they come with
// this one. What somebody has taken out stays out. It names those that change.
func renewed(files, came []authored.File) (out []authored.File, names []string) {
	find := func(list []authored.File, name string) *authored.File {
		if i := slices.IndexFunc(list, func(f authored.File) bool { return f.Name == name }); i >= 0 {
			return &list[i]
		}
		return nil
	}
	ours, asCame := EmbeddedFiles(), 0
	for _, f := range files {
		switch had, is := find(came, f.Name), find(ours, f.Name); {
		case had == nil || !bytes.Equal(had.Data, f.Data):
			out = append(out, f)
			continue
		case is == nil:
			names = append(names, f.Name)
		case !bytes.Equal(is.Data, f.Data):
			out, names = append(out, *is), append(names, f.Name)
		default:
			out = append(out, f)
		}
		asCame++
	}
	for _, f := range ours {
		if asCame > 0 && find(files, f.Name) == nil && find(came, f.Name) == nil {
			out, names = append(out, f), append(names, f.Name)
		}
	}
	return out, names
}

// maxRepairRounds is how often what was derived is read anew: a fix may uncover what another fix can mend.
const maxRepairRounds = 10

// upgrade works out what an edition of an older format becomes.
func (r *editionReader) upgrade(from int, draft []authored.File) *OldFormat {
	u := &upgrading{OldFormat: &OldFormat{Format: from}, sources: map[string]*authored.Source{}}
	for i := range r.docs {
		u.Upgraded = append(u.Upgraded, r.docs[i].File)
		u.sources[r.docs[i].Name] = authored.SourceOf(r.docs[i].File)
	}
	u.number(r)
	lacking := lacks(u.Upgraded, from)
	for u.repair(lacking) {
		lacking = lacks(u.Upgraded, from)
	}
	u.note(lacking) // what has no place for an edit
	u.addLists(from)
	added := u.addSources()
	for range maxRepairRounds {
		edition, err := r.again(u.Upgraded, draft)
		left, _ := err.(authored.Problems)
		switch {
		case err == nil:
			if _, undecided := u.Counts(); undecided == 0 {
				u.Edition = edition
			}
			return u.sorted()
		case u.repair(left):
		case added:
			u.dropSources()
			added = false
		default:
			u.note(left)
			return u.sorted()
		}
	}
	return u.sorted()
}

// sorted puts what is missing in the order of the files, the number first.
func (u *upgrading) sorted() *OldFormat {
	report := &authored.Report{}
	for _, p := range u.Missing[u.numbered:] {
		report.Fix(p.At, p.Fix, p.Suggestion, "%s", p.Message)
	}
	rest, _ := report.Err().(authored.Problems)
	u.Missing = append(u.Missing[:u.numbered:u.numbered], rest...)
	return u.OldFormat
}

// again reads what an edition has become.
func (r *editionReader) again(files, draft []authored.File) (*Edition, error) {
	next := newEditionReader(r.before, files)
	next.given = r.given
	next.noReview()
	inherited := func(f authored.File) bool {
		named := func(g authored.File) bool { return g.Name == f.Name }
		return slices.ContainsFunc(r.docs, func(d document) bool { return named(d.File) }) && !slices.ContainsFunc(draft, named)
	}
	return next.read(slices.DeleteFunc(slices.Clone(files), inherited))
}

// upgrading is an upgrade while it is worked out.
type upgrading struct {
	*OldFormat
	sources  map[string]*authored.Source  // the files as they were
	steps    []map[string][]authored.Edit // what was edited, by file
	numbered int                          // 1 when the first that is missing is the number
	sourced  string                       // the file of sources that was added
}

// repair makes the fixes of problems, and notes those; false when there was none to make.
func (u *upgrading) repair(found authored.Problems) bool {
	sure := slices.DeleteFunc(slices.Clone(found), func(p authored.Problem) bool { return p.Fix == nil })
	out, made := sure.Repair(u.Upgraded)
	edited := false
	for _, edits := range made {
		edited = edited || len(edits) > 0
	}
	if edited {
		u.note(sure)
		u.Upgraded, u.steps = out, append(u.steps, made)
	}
	return edited
}

// note adds problems to what is missing, at their places in the files as they were.
func (u *upgrading) note(found authored.Problems) {
	for _, p := range found {
		name := ""
		if p.At.Source != nil {
			name = p.At.Source.Name
		}
		was := func(at authored.Pos) authored.Pos {
			for _, made := range slices.Backward(u.steps) {
				at = at.Before(made[name])
			}
			if src := u.sources[name]; src != nil {
				at.Source = src
			}
			return at
		}
		p.At = was(p.At)
		if p.Fix != nil {
			p.Fix = &authored.Edit{From: was(p.Fix.From), To: was(p.Fix.To), New: p.Fix.New}
		}
		same := func(had authored.Problem) bool { return had.At == p.At && had.Message == p.Message }
		if !slices.ContainsFunc(u.Missing, same) {
			u.Missing = append(u.Missing, p)
		}
	}
}

// number writes the number of the format: under about, or where there is none in a file of its own.
func (u *upgrading) number(r *editionReader) {
	number, at, about := r.formatOf()
	if number == Format {
		return
	}
	p := authored.Problem{At: at, Message: fmt.Sprintf("the edition is of format %d, and this program reads format %d", u.Format, Format),
		Suggestion: fmt.Sprintf("write format: %d when nothing else is missing", Format)}
	text := strconv.Itoa(Format)
	u.numbered = 1
	switch {
	case about == nil:
		u.add("rules", "about", "about: {format: "+text+"}\n", p)
		return
	case under(about, "format") != nil:
		p.Fix = r.Rewrite(under(about, "format"), text)
	default:
		p.Fix = r.Insert(about, "format", text)
	}
	if !u.repair(authored.Problems{p}) {
		u.note(authored.Problems{p})
	}
}

// lacks is what an edition lacks of what comes with the program, as far as a file has the place for it.
func lacks(files []authored.File, from int) authored.Problems {
	d := newDecoder()
	var found authored.Problems
	tops := make([]*yaml.Node, len(files))
	for i, f := range files {
		tops[i] = d.Parse(f)
	}
	for _, g := range gained {
		if g.format <= from {
			continue
		}
		for _, top := range tops {
			lists := listsUnder(top, strings.Split(g.list, "."))
			for _, part := range partsOf(lists) {
				if p := g.lackKey(d, part); g.key != "" && p != nil {
					found = append(found, *p)
				}
			}
			if p := g.lackPart(d, lists); g.part != "" && p != nil {
				found = append(found, *p)
			}
		}
	}
	return found
}

// lackKey is what a part lacks of the key; nil when nothing, or when none comes with the program that has its id.
func (g gain) lackKey(d *authored.Decoder, part *yaml.Node) *authored.Problem {
	id := textUnder(part, "id")
	came, had := builtInParts()[g.list+"/"+id], under(part, g.key)
	if came == nil || under(came, g.key) == nil || had != nil && (g.older == nil || !g.older(had) || g.older(under(came, g.key))) {
		return nil
	}
	value := inline(under(came, g.key))
	p := &authored.Problem{At: d.At(part), Suggestion: "as it comes with the program, " + g.key + ": " + value}
	if had != nil {
		p.At, p.Fix = d.At(had), d.Rewrite(had, value)
		p.Message = fmt.Sprintf("%s has its %s in the way of format %d", g.named(id), g.key, g.format-1)
	} else {
		p.Fix = d.Insert(part, g.key, value)
		p.Message = fmt.Sprintf("%s says nothing of %s", g.named(id), g.key)
	}
	return p
}

// lackPart is the part when a list lacks it; nil when it doesn't. A list stands in one file.
func (g gain) lackPart(d *authored.Decoder, lists []*yaml.Node) *authored.Problem {
	came := builtInParts()[g.list+"/"+g.part]
	there := func(n *yaml.Node) bool { return textUnder(n, "id") == g.part }
	if len(lists) == 0 || came == nil || slices.ContainsFunc(partsOf(lists), there) {
		return nil
	}
	value := inline(came)
	return &authored.Problem{At: d.At(lists[0]), Fix: d.AddItem(lists[0], value),
		Message: g.named(g.part) + " is missing", Suggestion: "as it comes with the program, " + value}
}

// named is a part as people say it: condition "fracture".
func (g gain) named(id string) string {
	names := strings.Split(g.list, ".")
	what := names[len(names)-1]
	if id == "" {
		return what + ":"
	}
	return fmt.Sprintf("%s %q", strings.ReplaceAll(strings.TrimSuffix(what, "s"), "_", " "), id)
}

// builtInParts are the parts that come with the program, by list and id.
var builtInParts = sync.OnceValue(readBuiltInParts)

func readBuiltInParts() map[string]*yaml.Node {
	d, parts := newDecoder(), map[string]*yaml.Node{}
	for _, f := range EmbeddedFiles() {
		top := d.Parse(f)
		for _, g := range gained {
			for _, part := range partsOf(listsUnder(top, strings.Split(g.list, "."))) {
				parts[g.list+"/"+textUnder(part, "id")] = part
			}
		}
	}
	return parts
}

// listsUnder are the values at the end of a way of keys; lists on the way are passed through.
func listsUnder(n *yaml.Node, way []string) []*yaml.Node {
	switch {
	case n == nil:
		return nil
	case len(way) == 0:
		return []*yaml.Node{n}
	case n.Kind == yaml.SequenceNode:
		var lists []*yaml.Node
		for _, item := range n.Content {
			lists = append(lists, listsUnder(item, way)...)
		}
		return lists
	}
	return listsUnder(under(n, way[0]), way[1:])
}

// partsOf are the items of lists; what is no list is a part itself.
func partsOf(lists []*yaml.Node) []*yaml.Node {
	var parts []*yaml.Node
	for _, l := range lists {
		if l.Kind == yaml.SequenceNode {
			parts = append(parts, l.Content...)
		} else {
			parts = append(parts, l)
		}
	}
	return parts
}

// addLists adds lists that no file has, each in a file of its own.
func (u *upgrading) addLists(from int) {
	for _, g := range gained {
		way := strings.Split(g.list, ".")
		if g.part != "*" || g.format <= from || len(u.having(way)) > 0 {
			continue
		}
		var parts []string
		for _, f := range EmbeddedFiles() {
			for _, part := range partsOf(listsUnder(newDecoder().Parse(f), way)) {
				parts = append(parts, inline(part))
			}
		}
		if len(parts) > 0 {
			u.addFile(way, parts)
		}
	}
}

// having are the lists of all files at the end of a way of keys.
func (u *upgrading) having(way []string) []*yaml.Node {
	var lists []*yaml.Node
	for _, f := range u.Upgraded {
		lists = append(lists, listsUnder(newDecoder().Parse(f), way)...)
	}
	return lists
}

// addFile adds a file with a list, beside one of the same top key.
func (u *upgrading) addFile(way, parts []string) {
	var b strings.Builder
	for i, key := range way {
		fmt.Fprintf(&b, "%s%s:\n", strings.Repeat("  ", i), key)
	}
	for _, part := range parts {
		fmt.Fprintf(&b, "%s- %s\n", strings.Repeat("  ", len(way)), part)
	}
	u.add(way[0], way[len(way)-1], b.String(), authored.Problem{Message: "no file has " + way[len(way)-1] + ":",
		Suggestion: fmt.Sprintf("as it comes with the program, %d of them", len(parts))})
}

// add adds a file beside the first that has a kind, and returns its name.
func (u *upgrading) add(beside, name, text string, p authored.Problem) string {
	folder := "rules/book"
	for _, f := range u.Upgraded {
		if top := newDecoder().Parse(f); top != nil && under(top, beside) != nil {
			folder = path.Dir(f.Name)
			break
		}
	}
	stem := path.Join(folder, name)
	file := authored.File{Name: stem + ".yaml", Data: []byte(text)}
	for i := 2; slices.ContainsFunc(u.Upgraded, func(f authored.File) bool { return f.Name == file.Name }); i++ {
		file.Name = fmt.Sprintf("%s_%d.yaml", stem, i)
	}
	u.Upgraded, u.Added = append(u.Upgraded, file), append(u.Added, file.Name)
	p.At = authored.Pos{Source: &authored.Source{Name: file.Name}}
	start := authored.Pos{Source: p.At.Source, Line: 1, Col: 1}
	p.Fix = &authored.Edit{From: start, To: start, New: text}
	u.Missing = append(u.Missing, p)
	return file.Name
}

// inline writes a value on one line.
func inline(n *yaml.Node) string {
	data, err := yaml.Marshal(onOneLine(n))
	if err != nil {
		panic(fmt.Sprintf("write a value that was read: %v", err))
	}
	return strings.TrimSuffix(string(data), "\n")
}

func onOneLine(n *yaml.Node) *yaml.Node {
	out := &yaml.Node{Kind: n.Kind, Tag: n.Tag, Value: n.Value, Style: n.Style}
	if n.Kind != yaml.ScalarNode {
		out.Style = yaml.FlowStyle
	} else if n.Style&(yaml.LiteralStyle|yaml.FoldedStyle) != 0 {
		out.Style = yaml.DoubleQuotedStyle
	}
	for _, c := range n.Content {
		out.Content = append(out.Content, onOneLine(c))
	}
	return out
}

// addSources adds the publications that come with the program to an edition in which no file has those, so that what cites them can
// be read; true when it did. dropSources then leaves those that something cites.
func (u *upgrading) addSources() bool {
	all := u.builtInSources(func(id string) bool { return true })
	if all == "" || len(u.having([]string{"sources"})) > 0 {
		return false
	}
	u.sourced = u.add("rules", "sources", all, authored.Problem{Message: "no file has sources:",
		Suggestion: "as they come with the program, those that something cites"})
	return true
}

// dropSources leaves of the sources that were added those that something cites.
func (u *upgrading) dropSources() {
	cited := map[string]bool{}
	for _, f := range u.Upgraded {
		citations(newDecoder().Parse(f), cited)
	}
	for i, f := range u.Upgraded {
		if f.Name == u.sourced {
			u.Upgraded[i].Data = []byte(u.builtInSources(func(id string) bool { return cited[id] }))
		}
	}
}

// builtInSources is a file of those publications that come with the program whose ids are wanted; empty when there are none.
func (u *upgrading) builtInSources(want func(id string) bool) string {
	var b strings.Builder
	for _, f := range EmbeddedFiles() {
		d := newDecoder()
		for _, part := range partsOf(listsUnder(d.Parse(f), []string{"sources"})) {
			if want(textUnder(part, "id")) {
				fmt.Fprintf(&b, "  - %s\n", inline(part))
			}
		}
	}
	if b.Len() == 0 {
		return ""
	}
	return "sources:\n" + b.String()
}

// citations notes what stands under every cite.
func citations(n *yaml.Node, cited map[string]bool) {
	if n == nil {
		return
	}
	if cite := under(n, "cite"); cite != nil {
		cited[cite.Value] = true
		for _, one := range cite.Content {
			cited[one.Value] = true
		}
	}
	for _, c := range n.Content {
		citations(c, cited)
	}
}
