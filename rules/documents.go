package rules

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"

	"drillwright/catalog"
	"drillwright/catalog/authored"
)

// document is a file and what it is about. The nodes of YAML, which weigh many times the text, are there only while an
// edition is read, and only of files in which something is looked for.
type document struct {
	authored.File
	keys   []string // top keys; none of a file that can't be parsed
	top    *yaml.Node
	faulty bool // has mistakes that were not reported
}

func (d *document) isOf(kinds []string) bool {
	return slices.ContainsFunc(d.keys, func(k string) bool { return slices.Contains(kinds, k) })
}

// editionReader reads the files of one edition.
type editionReader struct {
	*authored.Decoder
	before *Edition          // whose work is used again; nil when there is none
	given  *catalog.Snapshot // the catalogue, when it isn't read; else nil
	floor  []document
	docs   []document
}

// newEditionReader takes in the floor and a draft. A file that stands in the edition before too has no mistake of its own, and
// is parsed only when it is asked for.
func newEditionReader(before *Edition, draft []authored.File) *editionReader {
	r := &editionReader{Decoder: newDecoder(), before: before}
	for _, f := range authored.FilesOf(embedded, "floor", floorFolder) {
		r.floor = append(r.floor, r.parsed(f))
	}
	noFloorFiles(r.Report, draft)
	for _, f := range draft {
		if had := before.document(f); had != nil {
			r.docs = append(r.docs, *had)
		} else {
			f.Data = bytes.Clone(f.Data) // an edition keeps it
			r.docs = append(r.docs, r.parsed(f))
		}
	}
	return r
}

// document finds a file among those of an edition, which may be nil; nil when it isn't there.
func (e *Edition) document(f authored.File) *document {
	if e == nil {
		return nil
	}
	for i := range e.files {
		if had := &e.files[i]; had.Name == f.Name && bytes.Equal(had.Data, f.Data) {
			return had
		}
	}
	return nil
}

func (r *editionReader) parsed(f authored.File) document {
	if keys := r.Trees.Keys(f); keys != nil {
		return document{File: f, keys: keys} // it has no mistake, and is parsed when it is asked for
	}
	d := document{File: f, top: r.Parse(f)}
	if d.top == nil {
		return d
	}
	for i := 0; i < len(d.top.Content); i += 2 {
		key := d.top.Content[i]
		d.keys = append(d.keys, key.Value)
		if !slices.Contains(kinds, key.Value) {
			if sure := r.Unknown(r.At(key), "kind of file", key.Value, kinds); sure != "" && !slices.Contains(d.keys, sure) {
				key.Value, d.keys[len(d.keys)-1] = sure, sure
			}
		}
		misplaced(r.Decoder, key.Value, d.top.Content[i+1])
	}
	return d
}

// base parses the files that a draft is completed from. Their mistakes are left for complete to report: a file that the
// draft replaces may have any.
func (r *editionReader) base(files []authored.File) []document {
	report := r.Report
	defer func() { r.Report = report }()
	docs := make([]document, len(files))
	for i, f := range files {
		r.Report = &authored.Report{}
		f.Data = bytes.Clone(f.Data)
		docs[i] = r.parsed(f)
		docs[i].faulty = r.Count() > 0
	}
	return docs
}

// complete adds those files of a base whose kinds the draft lacks; about only to a draft that lacks more than that, and never who has
// reviewed the base. Cases speak of the drills of their base: over a catalogue from elsewhere they would say nothing.
func (r *editionReader) complete(base []document) {
	have := []string{"review"}
	if r.given != nil {
		have = append(have, ofCases...)
	}
	for i := range r.docs {
		have = append(have, r.docs[i].keys...)
	}
	if slices.Contains(have, "blocks") || slices.Contains(have, "drills") {
		have = append(have, "blocks", "drills")
	}
	if !slices.ContainsFunc(wholeKinds, func(k string) bool { return !slices.Contains(have, k) }) {
		have = append(have, "about")
	}
	own := len(r.docs)
	for _, d := range base {
		switch {
		case d.isOf(have):
		case d.faulty:
			r.docs = append(r.docs, r.parsed(d.File))
		default:
			r.docs = append(r.docs, d)
		}
	}
	if slices.Contains(have, "sources") {
		r.keepSources(base, own)
	}
}

// keepSources adds those sources of a base that its files cite where a draft has sources of its own: what the draft leaves as it was
// keeps where it comes from. own is how many files are the draft's.
func (r *editionReader) keepSources(base []document, own int) {
	cited, given := map[string]bool{}, map[string]bool{}
	for i := range r.docs {
		d := &r.docs[i]
		if d.top == nil && len(d.keys) > 0 && (i >= own || d.isOf([]string{"sources"})) {
			d.top = r.Parse(d.File)
		}
		if i >= own {
			citations(d.top, cited)
			continue
		}
		for _, part := range partsOf(listsUnder(d.top, []string{"sources"})) {
			given[textUnder(part, "id")] = true
		}
	}
	var kept strings.Builder
	var name string
	for _, d := range base {
		if !d.isOf([]string{"sources"}) || d.faulty {
			continue
		}
		if d.top == nil {
			d.top = r.Parse(d.File)
		}
		for _, part := range partsOf(listsUnder(d.top, []string{"sources"})) {
			if id := textUnder(part, "id"); cited[id] && !given[id] {
				name = d.Name
				given[id] = true
				fmt.Fprintf(&kept, "  - %s\n", inline(part))
			}
		}
	}
	if kept.Len() == 0 {
		return
	}
	for slices.ContainsFunc(r.docs, func(d document) bool { return d.Name == name }) {
		name = strings.TrimSuffix(name, ".yaml") + "_kept.yaml"
	}
	r.docs = append(r.docs, r.parsed(authored.File{Name: name, Data: []byte("sources:\n" + kept.String())}))
}

// keeps is whether the files of some kinds are those of the edition before, in the same order.
func (r *editionReader) keeps(kinds ...string) bool {
	other := func(d document) bool { return !d.isOf(kinds) }
	return slices.EqualFunc(slices.DeleteFunc(slices.Clone(r.docs), other), slices.DeleteFunc(slices.Clone(r.before.files), other),
		func(a, b document) bool { return a.Name == b.Name && bytes.Equal(a.Data, b.Data) })
}

// tops are the nodes of all files of some kinds, the floor's first.
func (r *editionReader) tops(kinds []string) []*yaml.Node {
	var tops []*yaml.Node
	for _, docs := range [][]document{r.floor, r.docs} {
		for i := range docs {
			d := &docs[i]
			if !d.isOf(kinds) {
				continue
			}
			if d.top == nil {
				d.top = r.Parse(d.File)
			}
			tops = append(tops, d.top)
		}
	}
	return tops
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

// Files are the files of the edition, in order: the draft's, then those of its base that it lacks. They are not to be
// changed.
func (e *Edition) Files() []authored.File {
	files := make([]authored.File, len(e.files))
	for i := range e.files {
		files[i] = e.files[i].File
	}
	return files
}

// RevisionWithin is the revision under which an edition goes live whose draft was read out of a folder: there files are
// named by their paths in it, wherever it lies. The folder ends in a slash.
func (e *Edition) RevisionWithin(folder string) string {
	docs := slices.Clone(e.files)
	for i := range docs {
		docs[i].Name = strings.TrimPrefix(docs[i].Name, folder)
	}
	return digest(docs)
}

// KindsBeside are the kinds of file that an edition has and a folder, whose name ends in a slash, has not.
func (e *Edition) KindsBeside(folder string) []string {
	var inside, beside []string
	for _, d := range e.files {
		if strings.HasPrefix(d.Name, folder) {
			inside = append(inside, d.keys...)
		} else {
			beside = append(beside, d.keys...)
		}
	}
	return slices.DeleteFunc(slices.Clone(kinds), func(k string) bool { return slices.Contains(inside, k) || !slices.Contains(beside, k) })
}

// withoutNodes are the documents as an edition keeps them.
func withoutNodes(docs []document) []document {
	kept := slices.Clone(docs)
	for i := range kept {
		kept[i].top = nil
	}
	return kept
}

// digest is the revision: SHA-256 over the files in order of name, each with name and length.
func digest(files []document) string {
	sorted := slices.Clone(files)
	slices.SortFunc(sorted, func(a, b document) int { return strings.Compare(a.Name, b.Name) })
	h := sha256.New()
	for _, f := range sorted {
		fmt.Fprintf(h, "%d %s %d\n", len(f.Name), f.Name, len(f.Data))
		h.Write(f.Data)
	}
	return hex.EncodeToString(h.Sum(nil))[:32]
}
