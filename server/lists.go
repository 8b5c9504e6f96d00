package server

import (
	"fmt"
	"sync"

	"buf.build/go/protovalidate"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules/client"
)

// cutToLists is a message without the lists and maps that hold more than the contract lets through, and what is to be said of
// each: nothing looks at their thousands. The message itself when there are none; else a copy that shares what it keeps.
func cutToLists(m proto.Message) (proto.Message, []client.Violation) {
	var tooLong []client.Violation
	within := cutLists(m.ProtoReflect(), "", &tooLong)
	return within.Interface(), tooLong
}

func cutLists(m protoreflect.Message, path string, tooLong *[]client.Violation) protoreflect.Message {
	out := m
	change := func(fd protoreflect.FieldDescriptor, to protoreflect.Value) {
		if out == m {
			out = m.New()
			m.Range(func(fd protoreflect.FieldDescriptor, v protoreflect.Value) bool {
				out.Set(fd, v)
				return true
			})
		}
		if to.IsValid() {
			out.Set(fd, to)
		} else {
			out.Clear(fd)
		}
	}
	for _, f := range listsOf()[m.Descriptor().FullName()] {
		fd := f.field
		if !m.Has(fd) {
			continue
		}
		v := m.Get(fd)
		switch has := entriesIn(fd, v); {
		case f.most > 0 && has > f.most:
			*tooLong = append(*tooLong, client.Violation{Field: path + string(fd.Name()), Message: fmt.Sprintf("%d entries are too many", has),
				Suggestion: fmt.Sprintf("at most %d", f.most)})
			change(fd, protoreflect.Value{})
		case f.deeper && fd.IsList():
			var list protoreflect.Value // once an item has changed
			for i := range has {
				was := v.List().Get(i).Message()
				is := cutLists(was, fmt.Sprintf("%s%s[%d].", path, fd.Name(), i), tooLong)
				if is != was && !list.IsValid() {
					list = m.NewField(fd)
					for k := range has {
						list.List().Append(v.List().Get(k))
					}
				}
				if is != was {
					list.List().Set(i, protoreflect.ValueOfMessage(is))
				}
			}
			if list.IsValid() {
				change(fd, list)
			}
		case f.deeper:
			if is := cutLists(v.Message(), path+string(fd.Name())+".", tooLong); is != v.Message() {
				change(fd, protoreflect.ValueOfMessage(is))
			}
		}
	}
	return out
}

func entriesIn(fd protoreflect.FieldDescriptor, v protoreflect.Value) int {
	switch {
	case fd.IsMap():
		return v.Map().Len()
	case fd.IsList():
		return v.List().Len()
	}
	return 0
}

// limited is a field that is a list or map of a limited length, or that holds such within its messages.
type limited struct {
	field  protoreflect.FieldDescriptor
	most   int // 0: no limit here
	deeper bool
}

// listsOf are the limited fields of every message of the contract.
var listsOf = sync.OnceValue(func() map[protoreflect.FullName][]limited {
	all := map[protoreflect.FullName][]limited{}
	var visit func(m protoreflect.MessageDescriptor)
	visit = func(m protoreflect.MessageDescriptor) {
		if _, seen := all[m.FullName()]; seen {
			return
		}
		all[m.FullName()] = nil // a message that holds itself is looked at from outside only
		for i := range m.Fields().Len() {
			f := limited{field: m.Fields().Get(i)}
			if f.field.IsList() || f.field.IsMap() {
				f.most = mostIn(f.field)
			}
			if in := f.field.Message(); in != nil && !f.field.IsMap() {
				visit(in)
				f.deeper = len(all[in.FullName()]) > 0
			}
			if f.most > 0 || f.deeper {
				all[m.FullName()] = append(all[m.FullName()], f)
			}
		}
	}
	for _, file := range []protoreflect.FileDescriptor{v1.File_drillwright_v1_selection_service_proto,
		v1.File_drillwright_v1_catalog_service_proto, v1.File_drillwright_v1_rulebook_service_proto} {
		for i := range file.Messages().Len() {
			visit(file.Messages().Get(i))
		}
	}
	return all
})

// mostIn is how many entries the contract lets a list or map have; 0: any number.
func mostIn(fd protoreflect.FieldDescriptor) int {
	rules, err := protovalidate.ResolveFieldRules(fd)
	if err != nil || rules == nil {
		return 0
	}
	if fd.IsMap() {
		return int(rules.GetMap().GetMaxPairs())
	}
	return int(rules.GetRepeated().GetMaxItems())
}
