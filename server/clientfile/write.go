package clientfile

import (
	"fmt"
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"
	"google.golang.org/protobuf/reflect/protoreflect"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules/client"
)

// Text is the client as a file, one field of the profile a line or a block, in the order of the contract. The same
// client is the same text.
func (c *File) Text() string {
	asked := &v1.ScreenRequest{Complaints: c.Complaints, AsOf: c.AsOf}
	top := blockOf(c.Profile.ProtoReflect())
	for _, key := range besideProfile {
		if fd := asked.ProtoReflect().Descriptor().Fields().ByName(protoreflect.Name(key)); asked.ProtoReflect().Has(fd) {
			top.Content = append(top.Content, keyOf(key), fieldOf(asked.ProtoReflect(), fd))
		}
	}
	if len(top.Content) == 0 {
		return "{}\n"
	}
	for i := 1; i < len(top.Content); i += 2 {
		breakLines(top.Content[i])
	}
	var b strings.Builder
	e := yaml.NewEncoder(&b)
	e.SetIndent(2)
	if err := e.Encode(top); err != nil {
		panic(fmt.Sprintf("write client: %v", err)) // a tree of our own
	}
	return b.String()
}

// blockOf is a message as a mapping of the fields that it has.
func blockOf(m protoreflect.Message) *yaml.Node {
	n := &yaml.Node{Kind: yaml.MappingNode}
	for i := range m.Descriptor().Fields().Len() {
		if fd := m.Descriptor().Fields().Get(i); m.Has(fd) {
			n.Content = append(n.Content, keyOf(string(fd.Name())), fieldOf(m, fd))
		}
	}
	return n
}

func fieldOf(m protoreflect.Message, fd protoreflect.FieldDescriptor) *yaml.Node {
	switch v := m.Get(fd); {
	case fd.IsMap():
		n := &yaml.Node{Kind: yaml.MappingNode}
		entries := map[string]*yaml.Node{}
		var keys []string
		v.Map().Range(func(k protoreflect.MapKey, v protoreflect.Value) bool {
			keys = append(keys, k.String())
			entries[k.String()] = valueOf(v, fd.MapValue())
			return true
		})
		slices.Sort(keys)
		for _, key := range keys {
			n.Content = append(n.Content, keyOf(key), entries[key])
		}
		return n
	case fd.IsList():
		n := &yaml.Node{Kind: yaml.SequenceNode}
		for i := range v.List().Len() {
			n.Content = append(n.Content, valueOf(v.List().Get(i), fd))
		}
		return n
	default:
		return valueOf(v, fd)
	}
}

func valueOf(v protoreflect.Value, fd protoreflect.FieldDescriptor) *yaml.Node {
	var of any
	switch fd.Kind() {
	case protoreflect.MessageKind:
		return blockOf(v.Message())
	case protoreflect.EnumKind:
		return keyOf(string(fd.Enum().Values().ByNumber(v.Enum()).Name()))
	case protoreflect.StringKind:
		return textOf(v.String())
	default:
		of = v.Interface()
	}
	n := &yaml.Node{}
	if err := n.Encode(of); err != nil {
		panic(fmt.Sprintf("write client: %v", err))
	}
	return n
}

// textOf writes days bare, as people do, and quotes what would be read as a number or a truth.
func textOf(s string) *yaml.Node {
	if _, err := client.ParseDay(s); err == nil {
		return &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!timestamp", Value: s}
	}
	return keyOf(s)
}

func keyOf(s string) *yaml.Node { return &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: s} }

// breakLines lets a field take lines: a mapping of mappings one an entry, a list of mappings one an item. All else stands on
// the line of its key.
func breakLines(n *yaml.Node) {
	holds := func(c *yaml.Node) bool { return c.Kind == yaml.MappingNode }
	if n.Kind == yaml.ScalarNode || !slices.ContainsFunc(n.Content, holds) {
		n.Style = yaml.FlowStyle
		return
	}
	for _, c := range n.Content {
		if c.Kind != yaml.ScalarNode {
			c.Style = yaml.FlowStyle
		}
	}
}
