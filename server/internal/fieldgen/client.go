package main

import (
	"fmt"
	"strings"
)

// client writes what rules/client needs.
func (t *table) client(w *writer) error {
	w.p("\npackage client\n\nimport (\n\"cmp\"\n\"slices\"\n)")
	for _, m := range t.structs {
		m.numbers(w)
		m.facts(w)
		m.checks(w)
		m.order(w)
		m.digest(w)
	}
	t.reports(w)
	return nil
}

func lower(name string) string { return strings.ToLower(name[:1]) + name[1:] }

// kind is that of the path of a row.
func (r *row) kind() string {
	switch r.typ {
	case "string", "Side":
		return "Word"
	case "[]string":
		return "List"
	case "bool", "*bool":
		return "Bool"
	}
	return "Number"
}

func (r *row) place() string {
	return map[string]string{"Word": "wordsAt", "List": "wordsAt", "Bool": "truthAt", "Number": "numberAt"}[r.kind()]
}

// variable is the name of a row's path in the generated code.
func (m *message) variable(r *row) string { return lower(m.name) + r.name }

// numbers writes the paths of a message, and the places in which they are kept.
func (m *message) numbers(w *writer) {
	w.p("")
	var kept []*row
	for _, r := range m.rows {
		if words := r.tag.Get("words"); words != "" {
			w.p("var %sWords = %#v", m.variable(r), strings.Fields(words))
		}
		if r.path == "" {
			continue
		}
		lo, hi, _ := strings.Cut(r.tag.Get("range"), "..")
		w.p("var %s = row{Path: Path{Name: %q, Kind: %s%s%s%s%s%s%s}%s}", m.variable(r), r.path, r.kind(),
			given(", Unit: %q", r.tag.Get("unit")), given(", Lo: %s", lo), given(", Hi: %s", hi),
			given(", Words: "+m.variable(r)+"Words", r.tag.Get("words")),
			given(",\nTestFirst: true", r.tag.Get("measure")+r.tag.Get("absent"))+given(", Measure: %q", r.tag.Get("measure")),
			given(", CanChange: true", r.tag.Get("changes")), given(", of: %q", r.tag.Get("of")))
		if r.of == nil {
			kept = append(kept, r)
		}
	}
	if len(kept) == 0 {
		return
	}
	w.p("\n// %[1]sFields is where what a %[2]s says is kept.\ntype %[1]sFields struct {", lower(m.name), m.name)
	for _, r := range kept {
		w.p("%s %s", lower(r.name), r.place())
	}
	w.p("}\n\nfunc (t *Table) %[1]sFields(of subject) %[1]sFields {\nreturn %[1]sFields{", lower(m.name))
	for _, r := range kept {
		w.p("%s: %s(t.reported(&%s, of)),", lower(r.name), r.place(), m.variable(r))
	}
	w.p("}\n}")
}

// given is a text where there is a value to fill in.
func given(text, value string) string {
	switch {
	case value == "":
		return ""
	case strings.Contains(text, "%"):
		return fmt.Sprintf(text, value)
	}
	return text
}

// facts writes what takes the facts over that are what was reported.
func (m *message) facts(w *writer) {
	var lines []string
	for _, r := range m.rows {
		if r.path == "" || r.worked || r.of != nil {
			continue
		}
		take, value := map[string]string{"*int": "whole", "*float64": "number", "*bool": "yesNo", "string": "word", "Side": "word",
			"[]string": "list", "int": "count"}[r.typ], "x."+r.name
		if r.typ == "Side" {
			value = "string(" + value + ")"
		}
		lines = append(lines, fmt.Sprintf("d.%s(at.%s, on, %s)", take, lower(r.name), value))
	}
	if len(lines) > 0 {
		w.p("\nfunc (d *deriver) %[1]sFacts(at *%[1]sFields, on sides, x *%[2]s) {\n%[3]s\n}", lower(m.name), m.name, strings.Join(lines, "\n"))
	}
}

// known are the terms of a request by the vocabulary of a row.
var known = map[string]string{"kit": "kit", "station": "stations", "medicine": "medicines"}

// checks writes what holds the fields of a message against the words and limits of their rows. What is in lists of its own is checked
// item by item, beside the ids that it is reported under.
func (m *message) checks(w *writer) {
	var lines []string
	for _, r := range m.rows {
		if line := m.check(r); line != "" {
			lines = append(lines, line)
		}
	}
	if len(lines) > 0 {
		w.p("\nfunc (c *checker) check%s(f *field, x *%s) {\n%s\n}", m.name, m.name, strings.Join(lines, "\n"))
	}
}

func (m *message) check(r *row) string {
	part, value := "", "x."+r.name
	if r.last() != nil {
		part = string(r.last().Name())
	}
	if len(r.fields) > 1 {
		part = string(r.fields[0].Name()) + "." + part
	}
	if m.name != "Request" {
		part = "." + part
	}
	says, score, of, words := r.tag.Get("says"), r.tag.Get("score"), r.tag.Get("of"), r.tag.Get("words")
	switch {
	case r.asked || r.joined || r.last() == nil:
		return ""
	case words != "":
		text := value
		if r.typ == "Side" {
			text = "string(" + value + ")"
		}
		none := `"", `
		if r.tag.Get("need") != "" {
			none = ""
		}
		return fmt.Sprintf("switch %s {\ncase %s\"%s\":\ndefault:\nc.unknown(f, %q, %q, %s, %sWords)\n}", value, none,
			strings.Join(strings.Fields(words), `", "`), part, says, text, m.variable(r))
	case of == "drill" && r.typ == "[]string":
		return fmt.Sprintf("c.drills(f, %q, %s)", part, value)
	case r.typ == "[]string" && of != "":
		return fmt.Sprintf("c.terms(f, %q, &c.ids.%s, %s)", part, known[of], value)
	case of != "" && says != "":
		return fmt.Sprintf("c.maybeOneOf(f, %q, %q, %s, c.frame.Vocabulary.IDs(%q))", part, says, value, of)
	case of != "":
		return fmt.Sprintf("c.term(f, %q, &c.ids.%s, %s)", part, known[of], value)
	case score != "" && r.typ == "float64":
		return fmt.Sprintf("c.score(f, %q, %q, %s)", part, score, value)
	case score != "":
		return fmt.Sprintf("c.scored(f, %q, %q, %s)", part, score, value)
	case says != "":
		check := map[string]string{"*int": "whole", "*float64": "number", "int": "within"}[r.typ]
		if r.typ == "int" {
			value = "float64(" + value + ")"
		}
		return fmt.Sprintf("c.%s(f, %q, &%s.Path, %q, %s)", check, part, m.variable(r), says, value)
	case r.typ == "Day" && r.tag.Get("day") == "needed":
		return fmt.Sprintf("c.day(f, %q, %s)", part, value)
	case r.typ == "Day" && r.tag.Get("day") == "":
		return fmt.Sprintf("c.past(f, %q, %s)", part, value)
	case r.of != nil && r.typ[0] == '*' && r.of.name != "Profile":
		return fmt.Sprintf("if %s != nil {\nc.check%s(&field{in: f, name: %q}, %s)\n}", value, r.of.name, part, value)
	}
	return ""
}

// digest writes the canonical form of a message.
func (m *message) digest(w *writer) {
	again := false
	for _, r := range m.rows {
		again = again || r.tag.Get("again") != ""
	}
	before := given(", before", map[bool]string{true: "yes"}[again])
	w.p("\nfunc (c *canonical) append%s(b []byte%s, x *%s) []byte {", m.name, before, m.name)
	for _, r := range m.rows {
		value := "x." + r.name
		switch {
		case !r.digested():
		case r.tag.Get("again") != "":
			w.p("b = appendAgain(b, before.%s, %s)", r.name, value)
		case r.of != nil && r.typ[0] == '*':
			w.p("if b = appendBool(b, %s != nil); %s != nil {\nb = c.append%s(b, %s)\n}", value, value, r.of.name, value)
		case r.of != nil:
			w.p("b = c.append%sList(b, %s)", r.of.name, value)
		case r.typ == "Day" && m.name != "Request":
			w.p("b = c.day(b, %s)", value)
		case r.typ == "Day":
			w.p("b = appendInt(b, int(%s))", value)
		default:
			w.p("b = append%s(b, %s)", map[string]string{"string": "Text", "Side": "Side", "bool": "Bool", "int": "Int", "float64": "Number",
				"*int": "MaybeInt", "*float64": "MaybeNumber", "*bool": "MaybeBool", "[]string": "Texts"}[r.typ], value)
		}
	}
	w.p("return b\n}")
	switch {
	case m.listed && again:
		w.p("\nfunc (c *canonical) append%[1]sList(b []byte, list []%[1]s) []byte {\nb = appendLen(b, len(list))\nbefore := &%[1]s{}\n"+
			"for i := range list {\nb = c.passed(c.append%[1]s(b, before, &list[i]))\nbefore = &list[i]\n}\nreturn b\n}", m.name)
	case m.listed:
		w.p("\nfunc (c *canonical) append%[1]sList(b []byte, list []%[1]s) []byte {\nb = appendLen(b, len(list))\n"+
			"for i := range list {\nb = c.passed(c.append%[1]s(b, &list[i]))\n}\nreturn b\n}", m.name)
	}
}

// reports writes how the facts are reported that are what was reported, and measures.
func (t *table) reports(w *writer) {
	w.p("\n// Reports are the facts that are reported as they are.\nvar Reports = []Report{")
	for _, name := range []string{"Request", "Profile"} {
		in := map[string]string{"Request": "q", "Profile": "q.Profile"}[name]
		m := t.find(name)
		for _, r := range m.rows {
			if r.path == "" || r.worked {
				continue
			}
			w.p("{Path: %q%s%s%s, %s},", r.path, given(", Whole: true", map[bool]string{true: "yes"}[strings.HasSuffix(r.typ, "int")]),
				given(", Feeds: true", r.tag.Get("feeds")),
				given(", None: true", map[bool]string{true: r.tag.Get("absent")}[r.kind() == "Number"]), report(r.typ, in+"."+r.name))
		}
	}
	w.p("}")
}

func report(typ, field string) string {
	switch typ {
	case "*int":
		return "Number: func(q *Request, v float64) { " + field + " = new(int(v)) }"
	case "int":
		return "Number: func(q *Request, v float64) { " + field + " = int(v) }"
	case "*float64":
		return "Number: func(q *Request, v float64) { " + field + " = &v }"
	case "*bool":
		return "Truth: func(q *Request, yes bool) { " + field + " = &yes }"
	case "string":
		return "Word: func(q *Request, w string) { " + field + " = w }"
	case "Side":
		return "Word: func(q *Request, w string) { " + field + " = Side(w) }"
	case "[]string":
		return "List: func(q *Request) *[]string { return &" + field + " }"
	}
	return "Measures: func(q *Request) *[]Measure { return &" + field + " }"
}
