package main

import (
	"fmt"
	"strings"

	"google.golang.org/protobuf/reflect/protoreflect"
)

// server writes what the server needs: each message of the contract read into its struct, and written from it.
func (t *table) server(w *writer) error {
	w.p("\npackage server\n\nimport (\n\"slices\"\n\nv1 \"drillwright/proto/drillwright/v1\"\n\"drillwright/rules/client\"\n)")
	request, profile, complaint := t.find("Request"), t.find("Profile"), t.find("Complaint")
	t.words(w)

	request.asked(w)
	w.p("\n// toProfile reads a profile, whose maps are r.entries, into the reader's own.")
	w.p("func (r *reader) toProfile(m *v1.Profile) {\nx := &r.profile")
	for _, row := range profile.rows {
		w.p("x.%s = %s", row.name, profile.read(row, inRoot, "profile"))
	}
	w.p("}\n\n// emptyProfile is a profile that keeps nothing but the memory of its lists.")
	w.p("func emptyProfile(p *client.Profile) client.Profile {\nreturn client.Profile{")
	for _, row := range profile.rows {
		if row.of != nil && row.typ[0] == '[' {
			w.p("%s: emptied(p.%s),", row.name, row.name)
		}
	}
	w.p("}\n}")
	done := map[*message]bool{complaint: true}
	complaint.readList(w, request.row("Complaints"))
	profile.readers(w, "profile", done)

	w.p("\n// profileTo is toProfile the other way.\nfunc profileTo(x *client.Profile) *v1.Profile {\nm := &v1.Profile{}")
	profile.write(w)
	w.p("return m\n}")
	w.p("\nfunc complaintTo(x *client.Complaint) *v1.Complaint {\nm := &v1.Complaint{}")
	complaint.write(w)
	w.p("return m\n}")
	profile.writers(w, map[*message]bool{})
	return nil
}

// asked writes what reads a request: every question has a profile, complaints and a day, and not every one the rest.
func (m *message) asked(w *writer) {
	w.p("\n// toRequest takes what a question has.\nfunc (r *reader) toRequest(m asking) {\nx := &r.request")
	for _, r := range m.rows {
		switch {
		case r.name == "Profile":
			w.p("if p := m.GetProfile(); p != nil {\nx.Profile = &r.profile\nr.toProfile(p)\n}")
		case r.typ == "Day":
			w.p("x.%s = r.day(%s, %q)", r.name, r.get(), r.last().Name())
		case r.of != nil:
			w.p("x.%s = r.to%sList(nil, %s, %q)", r.name, r.of.name, r.get(), r.last().Name())
		default:
			getter := map[string]string{"string": "string", "[]string": "[]string", "int": "int32"}[r.typ]
			w.p("if m, ok := m.(interface{ Get%s() %s }); ok {\nx.%s = %s\n}", goName(r.last()), getter, r.name, m.read(r, inRoot, ""))
		}
	}
	w.p("}")
}

func (m *message) row(name string) *row {
	for _, r := range m.rows {
		if r.name == name {
			return r
		}
	}
	return nil
}

// Where a message is read: that decides how a field of it is named when it is wrong.
type where string

const (
	inRoot  where = "root"  // profile.age_years
	inItem  where = "item"  // profile.log.sets[2].day
	inEntry where = "entry" // profile.best["push_up_test"].date
	inSide  where = "side"  // profile.pain["shoulder"].left.date
)

func goName(fd protoreflect.FieldDescriptor) string {
	var name strings.Builder
	for _, part := range strings.Split(string(fd.Name()), "_") {
		name.WriteString(strings.ToUpper(part[:1]) + part[1:])
	}
	return name.String()
}

// get is what a row's field holds in m.
func (r *row) get() string {
	get := "m"
	for _, fd := range r.fields {
		get += ".Get" + goName(fd) + "()"
	}
	return get
}

// read is what a row holds, of the message m; path is that of the message.
func (m *message) read(r *row, at where, path string) string {
	fd, get := r.last(), r.get()
	switch {
	case r.tag.Get("key") == "side":
		return "entries[i].side"
	case r.tag.Get("key") == "value":
		return "fold(m)"
	case fd == nil:
		return "key"
	case r.asked && (fd.IsList() || fd.IsMap()):
		return "len(" + get + ") > 0"
	case r.asked:
		return get + " != nil"
	case r.joined:
		return fmt.Sprintf("append([]string{m.Get%s()}, m.Get%s()...)", goName(r.fields[0]), goName(r.fields[1]))
	case r.of != nil && r.typ[0] == '*':
		return fmt.Sprintf("r.to%s(%s)", r.of.name, get)
	case r.of != nil:
		scratch := "nil"
		if at == inRoot {
			scratch = "x." + r.name + "[:0]"
		}
		switch {
		case fd.IsMap() && fd.MapValue().Message() != nil:
			get = "r.entries." + memory(goName(fd))
		case fd.IsMap():
			get = "inOrder(nil, " + get + ")"
		}
		return fmt.Sprintf("r.to%sList(%s, %s, %q)", r.of.name, scratch, get, path+r.below())
	}
	switch r.typ {
	case "Day":
		return map[where]string{
			inRoot:  fmt.Sprintf("r.day(%s, %q)", get, path+r.below()),
			inItem:  fmt.Sprintf("r.dayOf(%s, in, i, %q)", get, r.below()),
			inEntry: fmt.Sprintf("r.dayUnder(%s, in, key, \"\", %q)", get, r.below()),
			inSide:  fmt.Sprintf("r.dayUnder(%s, in, key, entries[i].key, %q)", get, r.below()),
		}[at]
	case "Side":
		return "client.Side(wordOfSide(" + get + "))"
	case "*int":
		return "r.whole(m." + goName(fd) + ")"
	case "*float64":
		return "number(m." + goName(fd) + ")"
	case "*bool":
		return "m." + goName(fd)
	case "int":
		return "int(" + get + ")"
	case "float64":
		return "fold(" + get + ")"
	case "string":
		if fd.Kind() == protoreflect.EnumKind {
			return "wordOf" + string(fd.Enum().Name()) + "(" + get + ")"
		}
	}
	return get
}

// below is the path of a row's field below its message.
func (r *row) below() string {
	path := ""
	for _, fd := range r.fields {
		path += "." + string(fd.Name())
	}
	return path
}

// readers writes the readers of the messages within a message.
func (m *message) readers(w *writer, path string, done map[*message]bool) {
	for _, r := range m.rows {
		if r.of == nil || done[r.of] {
			continue
		}
		done[r.of] = true
		if r.typ[0] == '*' {
			w.p("\nfunc (r *reader) to%[1]s(m *v1.%[2]s) *client.%[1]s {\nif m == nil {\nreturn nil\n}\nx := &client.%[1]s{}", r.of.name,
				r.of.contract.Name())
			for _, part := range r.of.rows {
				w.p("x.%s = %s", part.name, r.of.read(part, inRoot, path+r.below()))
			}
			w.p("return x\n}")
		} else {
			r.of.readList(w, r)
		}
		r.of.readers(w, path+r.below(), done)
	}
}

// readList writes the reader of a list or of the entries of a map. Items are written in place: a profile has hundreds of measures.
func (m *message) readList(w *writer, r *row) {
	fd, at := r.last(), inItem
	item := "out = append(out, client." + m.name + "{})\nx := &out[len(out)-1]"
	w.p("\nfunc (r *reader) to%sList(out []client.%s, list %s, in string) []client.%s {", m.name, m.name, entriesType(fd), m.name)
	switch {
	case r.sided():
		at = inSide
		w.p("out = slices.Grow(out, len(entries)*len(list))")
		w.p("for _, e := range list {\nkey := e.key")
		w.p("for i, m := range [...]*v1.%s{e.value.GetLeft(), e.value.GetRight(), e.value.GetMidline()} {\nif m == nil {\ncontinue\n}",
			m.contract.Name())
		item = "out = out[:len(out)+1]\nx := &out[len(out)-1]"
	case fd.IsMap():
		at = inEntry
		w.p("for _, e := range list {\nkey, m := e.key, e.value")
	default:
		w.p("for i, m := range list {")
	}
	w.p("%s", item)
	for _, part := range m.rows {
		w.p("x.%s = %s", part.name, m.read(part, at, ""))
	}
	if r.sided() {
		w.p("}")
	}
	w.p("}\nreturn out\n}")
}

// keyed is what the entries of a map are reported under: motion, region, test or question.
func (m *message) keyed() string {
	for _, r := range m.rows {
		if key := r.tag.Get("key"); key != "" && key != "side" && key != "value" {
			return key
		}
	}
	return ""
}

// keyField is the field that holds a part of an entry of a map.
func (m *message) keyField(key string) string {
	for _, r := range m.rows {
		if r.tag.Get("key") == key {
			return r.name
		}
	}
	return ""
}

func entriesType(fd protoreflect.FieldDescriptor) string {
	switch {
	case !fd.IsMap():
		return "[]*v1." + string(fd.Message().Name())
	case fd.MapValue().Message() == nil:
		return "[]entry[float64]"
	}
	return "[]entry[*v1." + string(fd.MapValue().Message().Name()) + "]"
}

// words writes the words of the enums that a profile and a complaint hold.
func (t *table) words(w *writer) {
	done := map[protoreflect.FullName]bool{}
	for _, m := range t.structs {
		for _, r := range m.rows {
			if r.last() == nil || r.last().Kind() != protoreflect.EnumKind || done[r.last().Enum().FullName()] {
				continue
			}
			e := r.last().Enum()
			done[e.FullName()] = true
			w.p("\nfunc wordOf%s(e v1.%s) string {\nswitch e {\ncase 0:\nreturn \"\"", e.Name(), e.Name())
			for i := range e.Values().Len() {
				if v := e.Values().Get(i); v.Number() != 0 {
					w.p("case v1.%s_%s:\nreturn %q", e.Name(), v.Name(), v.Name())
				}
			}
			w.p("}\nreturn e.String()\n}")
		}
	}
}

// write writes the fields of m from x.
func (m *message) write(w *writer) {
	for _, r := range m.rows {
		if r.last() == nil || r.asked {
			continue
		}
		target := "m." + goName(r.fields[0])
		switch wrapped := len(r.fields) > 1; {
		case r.joined:
			w.p("m.%s, m.%s = x.%s[0], x.%s[1:]", goName(r.fields[0]), goName(r.fields[1]), r.name, r.name)
			continue
		case wrapped:
			w.p("if %s {\n%s = &v1.%s{}", m.sent(r), target, r.fields[0].Message().Name())
			target += "." + goName(r.last())
			r.fill(w, target)
			w.p("}")
		default:
			r.fill(w, target)
		}
	}
}

// sent is whether the message that a list is in was sent.
func (m *message) sent(r *row) string {
	for _, other := range m.rows {
		if other.asked && other.last() == r.fields[0] {
			return "x." + other.name
		}
	}
	return "len(x." + r.name + ") > 0"
}

// fill writes a field of the contract from a row.
func (r *row) fill(w *writer, target string) {
	fd, value := r.last(), "x."+r.name
	switch {
	case r.of != nil && r.typ[0] == '*':
		w.p("if %s != nil {\n%s = to%s(%s)\n}", value, target, r.of.contract.Name(), value)
	case r.of == nil:
		w.p("%s = %s", target, r.put(fd, value))
	default:
		w.p("for i := range %s {\nx := &%s[i]", value, value)
		one := "to" + r.of.name + "(x)"
		if r.of.contract == nil {
			one = "x." + r.of.keyField("value")
		}
		switch key := r.of.keyField(r.of.keyed()); {
		case !fd.IsMap():
			w.p("%s = append(%s, %s)", target, target, one)
		case r.sided():
			w.p("e := entryOf(&%s, x.%s)\nput(x.Side, &e.Left, &e.Right, &e.Midline, %s)", target, key, one)
		default:
			w.p("set(&%s, x.%s, %s)", target, key, one)
		}
		w.p("}")
	}
}

// put is what a scalar field of the contract is of a row's value.
func (r *row) put(fd protoreflect.FieldDescriptor, value string) string {
	switch {
	case fd.Kind() == protoreflect.EnumKind:
		if r.typ == "Side" {
			value = "string(" + value + ")"
		}
		return fmt.Sprintf("enum[v1.%s](%s, v1.%s_value)", fd.Enum().Name(), value, fd.Enum().Name())
	case r.typ == "Day":
		return "dayTo(" + value + ")"
	case r.typ == "*int":
		return "narrow(" + value + ")"
	case r.typ == "int":
		return "int32(" + value + ")"
	case r.typ == "float64" && fd.HasPresence():
		return "&" + value
	}
	return value
}

// writers writes the writers of the messages within a message.
func (m *message) writers(w *writer, done map[*message]bool) {
	for _, r := range m.rows {
		if r.of == nil || done[r.of] || r.of.contract == nil {
			continue
		}
		done[r.of] = true
		w.p("\nfunc to%s(x *client.%s) *v1.%s {\nm := &v1.%s{}", r.of.contract.Name(), r.of.name, r.of.contract.Name(), r.of.contract.Name())
		r.of.write(w)
		w.p("return m\n}")
		r.of.writers(w, done)
	}
}
