package main

import (
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"google.golang.org/protobuf/reflect/protoreflect"

	v1 "drillwright/proto/drillwright/v1"
)

// table is the profile as rules/client declares it, beside the contract.
type table struct {
	structs []*message // in the order in which they are met, from Request on
	faults  []error
}

// message is a struct of the table and the message of the contract that it is made of.
type message struct {
	name     string
	contract protoreflect.MessageDescriptor // nil of Request, which several messages make, and of an entry without a message
	rows     []*row
	listed   bool // it is an item of a list, or an entry of a map
	compared bool // its items are put in order
}

// row is a field of the table.
type row struct {
	name, typ string
	tag       reflect.StructTag
	path      string // as rules read it, from its root on; "" where none does
	worked    bool   // its fact is worked out by a method of its own
	of        *message

	fields []protoreflect.FieldDescriptor // the way to it from its message; two for one list where joined
	asked  bool                           // it says whether the field was sent
	joined bool
}

var tags = []string{"field", "key", "path", "unit", "range", "words", "of", "says", "score", "day", "need", "absent", "measure",
	"changes", "fact", "feeds", "again", "order", "first", "digest"}

// readTable reads the structs of the package in a folder. The error names every field of either side that the other lacks.
func readTable(folder string) (*table, error) {
	names, err := filepath.Glob(filepath.Join(folder, "*.go"))
	if err != nil {
		return nil, err
	}
	structs, methods := map[string]*ast.StructType{}, map[string]bool{}
	for _, name := range names {
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.SkipObjectResolution)
		if err != nil {
			return nil, err
		}
		ast.Inspect(file, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.TypeSpec:
				if s, ok := n.Type.(*ast.StructType); ok {
					structs[n.Name.Name] = s
				}
			case *ast.FuncDecl:
				methods[n.Name.Name] = n.Recv != nil
			}
			return true
		})
	}
	t := &table{}
	t.visit(structs, "Request", nil, "", false)
	t.markCompared()
	for _, m := range t.structs {
		for _, r := range m.rows {
			if limited := r.path != "" && r.tag.Get("range") != "" || r.tag.Get("words") != ""; limited && r.of == nil &&
				r.tag.Get("says")+r.tag.Get("score") == "" {
				t.fault("client.%s.%s has limits, and says: nothing of what it is called where it is beyond them", m.name, r.name)
			}
			if order := r.tag.Get("order"); !r.asked && r.last() != nil && r.last().IsList() && order != "any" && order != "once" {
				t.fault("client.%s.%s is a list, and order: doesn't say what its order means", m.name, r.name)
			}
			if by := r.tag.Get("fact"); by != "" && !methods[by] {
				t.fault("client.%s.%s: there is no method %s that works it out", m.name, r.name, by)
			}
		}
	}
	return t, errors.Join(t.faults...)
}

func (t *table) fault(format string, args ...any) {
	t.faults = append(t.faults, fmt.Errorf(format, args...))
}

// find is the struct of that name; nil when there is none.
func (t *table) find(name string) *message {
	if i := slices.IndexFunc(t.structs, func(m *message) bool { return m.name == name }); i >= 0 {
		return t.structs[i]
	}
	return nil
}

// visit reads a struct, and the structs of its fields. path and worked are those of the row that it is met in.
func (t *table) visit(structs map[string]*ast.StructType, name string, contract protoreflect.MessageDescriptor, path string,
	worked bool) *message {
	if m := t.find(name); m != nil {
		return m
	}
	m := &message{name: name, contract: contract}
	t.structs = append(t.structs, m)
	for _, f := range structs[name].Fields.List {
		if len(f.Names) != 1 || f.Tag == nil {
			t.fault("client.%s: each field needs a line and a tag of its own", name)
			continue
		}
		text, _ := strconv.Unquote(f.Tag.Value)
		r := &row{name: f.Names[0].Name, typ: typeText(f.Type), tag: reflect.StructTag(text), worked: worked}
		if r.tag.Get("field") == "-" {
			continue
		}
		m.rows = append(m.rows, r)
		t.read(m, r)
		r.worked = r.worked || r.tag.Get("fact") != ""
		if r.path = path; r.tag.Get("path") != "" {
			r.path = strings.TrimPrefix(path+"."+r.tag.Get("path"), ".")
		}
		if of := strings.TrimLeft(r.typ, "[]*"); structs[of] != nil {
			r.of = t.visit(structs, of, r.message(), r.path, r.worked)
			r.of.listed = r.of.listed || r.typ[0] == '['
		}
		if r.tag.Get("path") == "" || r.of != nil && r.typ != "[]Measure" {
			r.path = ""
		}
	}
	t.complete(m)
	return m
}

func typeText(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.StarExpr:
		return "*" + typeText(e.X)
	case *ast.ArrayType:
		return "[]" + typeText(e.Elt)
	case *ast.Ident:
		return e.Name
	}
	return "?"
}

// read reads a row's tag, and finds its field in the contract.
func (t *table) read(m *message, r *row) {
	for rest := string(r.tag); rest != ""; {
		key, after, _ := strings.Cut(strings.TrimSpace(rest), ":")
		value, err := strconv.QuotedPrefix(after)
		if err != nil || !slices.Contains(tags, key) {
			t.fault("client.%s.%s: there is no tag %q", m.name, r.name, key)
			return
		}
		rest = after[len(value):]
	}
	name := r.tag.Get("field")
	switch {
	case r.tag.Get("key") != "" && name == "":
		return
	case name == "":
		t.fault("client.%s.%s has no field:", m.name, r.name)
		return
	}
	name, r.asked = strings.CutSuffix(name, "?")
	first, second, joined := strings.Cut(name, ",")
	r.joined = joined
	in := m.contract
	for _, part := range strings.Split(first, ".") {
		in = t.step(m, r, in, part)
	}
	if joined {
		t.step(m, r, m.contract, second)
	}
}

// step adds a field to the way to a row's, and returns the message that it holds.
func (t *table) step(m *message, r *row, in protoreflect.MessageDescriptor, name string) protoreflect.MessageDescriptor {
	messages := []protoreflect.MessageDescriptor{in}
	if m.name == "Request" {
		messages = requests()
	}
	for _, in := range messages {
		if in == nil {
			continue
		}
		if fd := in.Fields().ByName(protoreflect.Name(name)); fd != nil {
			r.fields = append(r.fields, fd)
			return fd.Message()
		}
	}
	t.fault("client.%s.%s: the contract has no field %s", m.name, r.name, name)
	return nil
}

// requests are the messages that ask about a client.
func requests() []protoreflect.MessageDescriptor {
	file := v1.File_drillwright_v1_selection_service_proto.Messages()
	var all []protoreflect.MessageDescriptor
	for i := range file.Len() {
		if fd := file.Get(i).Fields().ByName("profile"); fd != nil {
			all = append(all, file.Get(i))
		}
	}
	return all
}

// last is the field itself; nil of a key.
func (r *row) last() protoreflect.FieldDescriptor {
	if len(r.fields) == 0 {
		return nil
	}
	return r.fields[len(r.fields)-1]
}

// message is what a row's items or entries are in the contract; nil of scalars.
func (r *row) message() protoreflect.MessageDescriptor {
	fd := r.last()
	switch {
	case fd == nil:
		return nil
	case r.sided():
		return fd.MapValue().Message().Fields().ByName("left").Message()
	case fd.IsMap():
		return fd.MapValue().Message()
	}
	return fd.Message()
}

// sided is true of a map whose entries have a left, a right and a midline.
func (r *row) sided() bool {
	fd := r.last()
	return fd != nil && fd.IsMap() && fd.MapValue().Message() != nil && fd.MapValue().Message().Fields().ByName("midline") != nil
}

// complete reports the fields of the contract that no row of a message has.
func (t *table) complete(m *message) {
	if m.contract == nil {
		return
	}
	had := map[protoreflect.FullName]bool{}
	wrappers := map[protoreflect.FullName]protoreflect.MessageDescriptor{}
	for _, r := range m.rows {
		for i, fd := range r.fields {
			had[fd.FullName()] = true
			if i+1 < len(r.fields) && !r.joined {
				wrappers[fd.FullName()] = fd.Message()
			}
		}
	}
	lacks := func(in protoreflect.MessageDescriptor) {
		for i := range in.Fields().Len() {
			if fd := in.Fields().Get(i); !had[fd.FullName()] {
				t.fault("the contract's field %s has no row in client.%s", fd.FullName(), m.name)
			}
		}
	}
	lacks(m.contract)
	for _, in := range wrappers {
		lacks(in)
	}
}
