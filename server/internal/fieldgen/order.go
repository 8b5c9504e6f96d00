package main

import (
	"slices"
	"strings"
)

func (r *row) digested() bool { return r.tag.Get("digest") != "no" }

// holdsOrder is whether a list whose order means nothing is within the messages of a row.
func (r *row) holdsOrder() bool {
	return r.of != nil && slices.ContainsFunc(r.of.rows, func(r *row) bool { return r.tag.Get("order") != "" || r.holdsOrder() })
}

// order writes what puts the lists of a message in order.
func (m *message) order(w *writer) {
	var asks, does []string
	for _, r := range m.rows {
		x := "x." + r.name
		switch {
		case !r.holdsOrder():
		case r.typ[0] == '*':
			asks = append(asks, "("+x+" == nil || "+x+".inOrder())")
			does = append(does, "if "+x+" != nil {\ncopied := *"+x+"\ncopied.order()\n"+x+" = &copied\n}")
		default:
			asks = append(asks, "!slices.ContainsFunc("+x+", func(x "+r.of.name+") bool { return !x.inOrder() })")
			does = append(does, x+" = slices.Clone("+x+")\nfor i := range "+x+" {\n"+x+"[i].order()\n}")
		}
		if order := r.tag.Get("order"); order != "" {
			list := x + ", " + map[bool]string{true: "compareText"}[r.of == nil]
			if r.of != nil {
				list += "compare" + r.of.name
			}
			asks = append(asks, map[string]string{"any": "isSorted(", "once": "isSet("}[order]+list+")")
			does = append(does, x+" = "+map[string]string{"any": "sorted(", "once": "set("}[order]+list+")")
		}
	}
	if len(asks) > 0 {
		w.p("\nfunc (x *%s) inOrder() bool {\nreturn %s\n}", m.name, strings.Join(asks, " &&\n"))
		w.p("\n// order copies what it writes to: x may share it.\nfunc (x *%s) order() {\n%s\n}", m.name, strings.Join(does, "\n"))
	}
	if m.compared {
		m.compare(w)
	}
}

// markCompared marks the messages whose items are put in order, and those within them.
func (t *table) markCompared() {
	var mark func(m *message)
	mark = func(m *message) {
		m.compared = true
		for _, r := range m.rows {
			if r.of != nil {
				mark(r.of)
			}
		}
	}
	for _, m := range t.structs {
		for _, r := range m.rows {
			if r.of != nil && r.tag.Get("order") != "" {
				mark(r.of)
			}
		}
	}
}

// compare writes the order of the items of a list: by the field that goes first, then by the others as they are declared.
func (m *message) compare(w *writer) {
	w.p("\nfunc compare%[1]s(a, b *%[1]s) int {", m.name)
	for _, r := range m.rows {
		if r.tag.Get("first") == "highest" {
			w.p("if c := %s; c != 0 {\nreturn c\n}", r.comparison("b", "a"))
		}
	}
	for _, r := range m.rows {
		if r.tag.Get("first") == "" && r.digested() {
			w.p("if c := %s; c != 0 {\nreturn c\n}", r.comparison("a", "b"))
		}
	}
	w.p("return 0\n}")
}

func (r *row) comparison(a, b string) string {
	both := "(" + a + "." + r.name + ", " + b + "." + r.name
	if r.of != nil {
		return "compareLists" + both + ", compare" + r.of.name + ")"
	}
	by := map[string]string{"bool": "compareBool", "*float64": "compareMaybe", "[]string": "slices.Compare"}[r.typ]
	if by == "" {
		by = "cmp.Compare"
	}
	return by + both + ")"
}
