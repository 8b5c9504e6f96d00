package text

import (
	"fmt"
	"strings"

	v1 "drillwright/proto/drillwright/v1"
)

// CompareRevisions writes what differs between two revisions.
func (p *Page) CompareRevisions(r *v1.CompareRevisionsResponse) {
	p.title("From revision " + r.GetFrom() + " to " + r.GetTo())
	if len(r.GetParts()) == 0 {
		p.line(2, "No part differs; at most comments, or where and how things are written.")
		return
	}
	p.parts(r.GetParts())
}

// parts writes what was edited, part by part: − before, + after.
func (p *Page) parts(list []*v1.PartChange) {
	if len(list) == 0 {
		return
	}
	p.section("What was edited: " + partFigures(list))
	for _, part := range list {
		head := part.GetKind() + " " + part.GetId()
		at := fmt.Sprintf("%s:%d", part.GetFile(), part.GetLine())
		switch part.GetChange() {
		case "added":
			p.after(2, head+", new at "+at)
		case "removed":
			p.before(2, head+", which stood at "+at)
		default:
			p.write("  ", "    ", head+", at "+at, bold)
		}
		for _, f := range part.GetFields() {
			p.line(4, f.GetField())
			if f.GetBefore() != "" {
				p.before(4, f.GetBefore())
			}
			if f.GetAfter() != "" {
				p.after(4, f.GetAfter())
			}
		}
	}
}

// partFigures is "2 rules changed, 1 drill added". The parts come by kind.
func partFigures(list []*v1.PartChange) string {
	var kinds []string
	counts := map[string]int32{}
	for _, part := range list {
		key := part.GetKind() + " " + part.GetChange()
		if counts[key] == 0 {
			kinds = append(kinds, key)
		}
		counts[key]++
	}
	for i, key := range kinds {
		kind, change, _ := strings.Cut(key, " ")
		if kind == "screening" {
			kind = "question list"
		}
		kinds[i] = count(counts[key], kind) + " " + change
	}
	return strings.Join(kinds, ", ")
}

// before and after are the lines of a difference.
func (p *Page) before(indent int, words string) { p.mark(indent, "−", words, dim) }
func (p *Page) after(indent int, words string)  { p.mark(indent, "+", words, bold) }

func (p *Page) mark(indent int, mark, words, escape string) {
	head := spaces(indent) + mark + " "
	p.write(head, spaces(runes(head)), words, escape)
}
