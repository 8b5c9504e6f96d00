package drillwrightv1

import (
	_ "embed"
	"fmt"
	"strings"
	"sync"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protodesc"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"
	"google.golang.org/protobuf/types/descriptorpb"
)

// contract is a FileDescriptorSet of this package with its comments, which the generated code leaves out.
//
//go:embed contract.binpb
var contract []byte

// Comment is what the contract says of a message, a field, an enum or a value, on one line; "" of what isn't in this package.
func Comment(d protoreflect.Descriptor) string {
	commented, err := files().FindDescriptorByName(d.FullName())
	if err != nil {
		return ""
	}
	text := commented.ParentFile().SourceLocations().ByDescriptor(commented).LeadingComments
	return strings.Join(strings.Fields(text), " ")
}

var files = sync.OnceValue(func() *protoregistry.Files {
	all, err := readFiles(contract)
	if err != nil {
		panic(fmt.Sprintf("read contract.binpb: %v", err)) // it is embedded, and tests read it
	}
	return all
})

func readFiles(encoded []byte) (*protoregistry.Files, error) {
	set := &descriptorpb.FileDescriptorSet{}
	if err := proto.Unmarshal(encoded, set); err != nil {
		return nil, err
	}
	all := &protoregistry.Files{}
	for _, f := range set.File {
		file, err := protodesc.NewFile(f, protoregistry.GlobalFiles) // where the generated code has registered what it imports
		if err != nil {
			return nil, err
		}
		if err := all.RegisterFile(file); err != nil {
			return nil, err
		}
	}
	return all, nil
}
