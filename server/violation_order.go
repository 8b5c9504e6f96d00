package server

import (
	"cmp"
	"encoding/binary"
	"slices"
	"strconv"
	"strings"

	"google.golang.org/protobuf/reflect/protoreflect"

	"drillwright/rules/client"
)

// inContractOrder sorts violations by the fields of a request as the contract declares them: what a field holds after the
// field itself, items of a list by number, entries of a map by key.
func inContractOrder(request protoreflect.MessageDescriptor, list []client.Violation) {
	type keyed struct {
		key string
		client.Violation
	}
	all := make([]keyed, len(list))
	for i, v := range list {
		all[i] = keyed{contractKey(request, v.Field), v}
	}
	slices.SortStableFunc(all, func(a, b keyed) int { return cmp.Compare(a.key, b.key) })
	for i := range all {
		list[i] = all[i].Violation
	}
}

// contractKey is a text by which paths of fields sort as the contract declares them. What the contract doesn't know comes last.
func contractKey(in protoreflect.MessageDescriptor, path string) string {
	key := make([]byte, 0, 16+len(path))
	for path != "" {
		name := path
		if end := strings.IndexAny(path, ".["); end >= 0 {
			name = path[:end]
		}
		var field protoreflect.FieldDescriptor
		if in != nil {
			field = in.Fields().ByName(protoreflect.Name(name))
		}
		if field == nil {
			return string(append(append(key, 0xff, 0xff), path...))
		}
		key = binary.BigEndian.AppendUint16(key, uint16(field.Index()))
		path = path[len(name):]
		if strings.HasPrefix(path, "[") {
			key, path = subscript(key, path)
		}
		if in = field.Message(); field.IsMap() {
			in = field.MapValue().Message()
		}
		path = strings.TrimPrefix(path, ".")
	}
	return string(key)
}

// subscript adds the number or the key that a path goes on with, and returns what follows.
func subscript(key []byte, path string) (with []byte, rest string) {
	if quoted, err := strconv.QuotedPrefix(path[1:]); err == nil {
		entry, _ := strconv.Unquote(quoted) // it is one that was quoted
		return append(append(key, entry...), 0), strings.TrimPrefix(path[1+len(quoted):], "]")
	}
	number, rest, _ := strings.Cut(path[1:], "]")
	n, _ := strconv.ParseUint(number, 10, 32) // lists have no other subscripts
	return binary.BigEndian.AppendUint32(key, uint32(n)), rest
}
