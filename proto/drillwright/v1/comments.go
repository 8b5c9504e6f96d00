package drillwrightv1

import (
	"bytes"
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

// contract is a FileDescriptorSet of this package, of what errors tell and of all that these import, with the comments that
// generated code leaves out.
//
//go:embed contract.binpb
var contract []byte

// DescriptorSet is the contract as an encoded FileDescriptorSet that needs no other, with its comments.
func DescriptorSet() []byte { return bytes.Clone(contract) }

// Comment is what the contract says of a message, a field, an enum or a value, on one line; "" of what isn't in it.
func Comment(d protoreflect.Descriptor) string {
	commented, err := Files().FindDescriptorByName(d.FullName())
	if err != nil {
		return ""
	}
	text := commented.ParentFile().SourceLocations().ByDescriptor(commented).LeadingComments
	return strings.Join(strings.Fields(text), " ")
}

// Files are the files of DescriptorSet.
var Files = sync.OnceValue(func() *protoregistry.Files {
	files, err := readFiles(contract)
	if err != nil {
		panic(fmt.Sprintf("read contract.binpb: %v", err)) // it is embedded, and tests read it
	}
	return files
})

func readFiles(encoded []byte) (*protoregistry.Files, error) {
	set := &descriptorpb.FileDescriptorSet{}
	if err := proto.Unmarshal(encoded, set); err != nil {
		return nil, err
	}
	return protodesc.NewFiles(set)
}
