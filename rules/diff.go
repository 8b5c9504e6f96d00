package rules

import (
	"cmp"
	"slices"

	"go.yaml.in/yaml/v3"

	"drillwright/catalog/authored"
)

// PartChange is a part of an edition that another adds, takes out or writes otherwise.
type PartChange struct {
	// Kind is rule, dose, caution, drill, block, plan, case, ladder, screening, question, source or term; file for what a file says
	// beside them.
	Kind string
	// ID of the part. A term's names its list ("motions/knee.flexion"), a ladder's is its region, a file's the top key
	// ("measures").
	ID     string
	Change string // added, removed, changed
	// File and Line are where it stands, in the later edition where it does.
	File string
	Line int
	// Fields that differ. Empty for a part that was added or removed.
	Fields []FieldChange
}

// FieldChange is a field with what its author wrote before and after; empty where nothing stood.
type FieldChange struct{ Field, Before, After string }

// Compare lists the parts that differ between two editions, by kind and id. How and where a part is written (comments,
// quotes, line breaks, the order of keys, the file and the line) makes no difference; the order of doses does.
func Compare(before, after *Edition) []PartChange { return CompareFiles(before.Files(), after.Files()) }

// CompareFiles is Compare of editions that need not be read, or readable: of a file that is no YAML nothing is told.
func CompareFiles(before, after []authored.File) []PartChange {
	was, is := readParts(before, after), readParts(after, before)
	var list []PartChange
	for key, p := range is.byKey {
		if old, ok := was.byKey[key]; !ok {
			list = append(list, p.changed(key, "added", nil))
		} else if fields := differing(old, p); len(fields) > 0 {
			list = append(list, p.changed(key, "changed", fields))
		}
	}
	for key, p := range was.byKey {
		if _, ok := is.byKey[key]; !ok {
			list = append(list, p.changed(key, "removed", nil))
		}
	}
	list = moved(list, was, is)
	slices.SortFunc(list, func(a, b PartChange) int { return cmp.Or(cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.ID, b.ID)) })
	return list
}

type partKey struct{ kind, id string }

// bookPart is what stands under one id.
type bookPart struct {
	at     authored.Pos
	fields *yaml.Node
	list   string // of a question: the list that it stands in
}

func (p bookPart) changed(key partKey, change string, fields []FieldChange) PartChange {
	return PartChange{Kind: key.kind, ID: key.id, Change: change, File: p.at.Source.Name, Line: p.at.Line, Fields: fields}
}

// bookParts are those of an edition that stand in a file which the other doesn't have as it is.
type bookParts struct {
	*authored.Decoder
	byKey map[partKey]bookPart
	doses []string // in order
}

func readParts(files, others []authored.File) *bookParts {
	p := &bookParts{Decoder: authored.NewDecoder(), byKey: map[partKey]bookPart{}}
	for _, f := range files {
		alike := func(o authored.File) bool { return string(o.Data) == string(f.Data) }
		if slices.ContainsFunc(others, alike) {
			continue
		}
		top := p.Parse(f)
		if top == nil {
			continue
		}
		for i := 0; i+1 < len(top.Content); i += 2 {
			p.add(top.Content[i].Value, top.Content[i], top.Content[i+1])
		}
	}
	return p
}

var kindOfList = map[string]string{"rules": "rule", "doses": "dose", "cautions": "caution", "drills": "drill", "blocks": "block",
	"plans": "plan", "cases": "case", "sources": "source"}

func (p *bookParts) add(key string, at, n *yaml.Node) {
	switch {
	case kindOfList[key] != "":
		for _, item := range n.Content {
			p.keep(kindOfList[key], textUnder(item, "id"), item, "")
		}
	case key == "ladders":
		for _, item := range n.Content {
			p.keep("ladder", textUnder(item, "region"), item, "")
		}
	case key == "screening":
		for _, list := range n.Content {
			p.screening(list)
		}
	case key == "vocabulary":
		for i := 0; i+1 < len(n.Content); i += 2 {
			for _, item := range n.Content[i+1].Content {
				p.keep("term", n.Content[i].Value+"/"+textUnder(item, "id"), item, "")
			}
		}
	default:
		p.byKey[partKey{"file", key}] = bookPart{at: p.At(at), fields: n}
	}
}

// screening takes the questions out of their list.
func (p *bookParts) screening(list *yaml.Node) {
	own := *list
	own.Content = nil
	for i := 0; i+1 < len(list.Content); i += 2 {
		if list.Content[i].Value != "questions" {
			own.Content = append(own.Content, list.Content[i], list.Content[i+1])
			continue
		}
		for _, item := range list.Content[i+1].Content {
			p.keep("question", textUnder(item, "id"), item, textUnder(list, "list"))
		}
	}
	p.byKey[partKey{"screening", textUnder(list, "list")}] = bookPart{at: p.At(list), fields: &own}
}

func (p *bookParts) keep(kind, id string, item *yaml.Node, list string) {
	p.byKey[partKey{kind, id}] = bookPart{p.At(item), item, list}
	if kind == "dose" {
		p.doses = append(p.doses, id)
	}
}

func differing(was, is bookPart) []FieldChange {
	fields := differ("", was.fields, is.fields)
	if was.list != is.list {
		fields = append(fields, FieldChange{"list", was.list, is.list})
	}
	slices.SortFunc(fields, func(a, b FieldChange) int { return cmp.Compare(a.Field, b.Field) })
	return fields
}

// moved adds the doses that stand elsewhere in the order: the first that is sure wins.
func moved(list []PartChange, was, is *bookParts) []PartChange {
	a, b := common(was.doses, is.doses), common(is.doses, was.doses)
	stay := longestCommon(a, b)
	for i, id := range b {
		if slices.Contains(stay, id) {
			continue
		}
		key := partKey{"dose", id}
		order := FieldChange{"order", follows(a, slices.Index(a, id)), follows(b, i)}
		if at := slices.IndexFunc(list, func(p PartChange) bool { return p.Kind == key.kind && p.ID == key.id }); at >= 0 {
			list[at].Fields = append(list[at].Fields, order)
		} else {
			list = append(list, is.byKey[key].changed(key, "changed", []FieldChange{order}))
		}
	}
	return list
}

// follows says what a place in a list follows.
func follows(list []string, i int) string {
	if i == 0 {
		return "first"
	}
	return "after " + list[i-1]
}

// longestCommon is a longest list of words that stand in both lists in the same order.
func longestCommon(a, b []string) []string {
	length := make([][]int, len(a)+1)
	for i := range length {
		length[i] = make([]int, len(b)+1)
	}
	for i := len(a) - 1; i >= 0; i-- {
		for j := len(b) - 1; j >= 0; j-- {
			if a[i] == b[j] {
				length[i][j] = length[i+1][j+1] + 1
			} else {
				length[i][j] = max(length[i+1][j], length[i][j+1])
			}
		}
	}
	var out []string
	for i, j := 0, 0; i < len(a) && j < len(b); {
		switch {
		case a[i] == b[j]:
			out = append(out, a[i])
			i, j = i+1, j+1
		case length[i+1][j] >= length[i][j+1]:
			i++
		default:
			j++
		}
	}
	return out
}
