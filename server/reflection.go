package server

import (
	"google.golang.org/grpc"
	"google.golang.org/grpc/reflection"
	reflectionv1 "google.golang.org/grpc/reflection/grpc_reflection_v1"
	reflectionv1alpha "google.golang.org/grpc/reflection/grpc_reflection_v1alpha"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"

	v1 "drillwright/proto/drillwright/v1"
)

// registerReflection answers what the server speaks, with the contract's comments.
func registerReflection(g *grpc.Server) {
	options := reflection.ServerOptions{Services: g, DescriptorResolver: commented{}}
	reflectionv1.RegisterServerReflectionServer(g, reflection.NewServerV1(options))
	reflectionv1alpha.RegisterServerReflectionServer(g, reflection.NewServer(options))
}

// commented finds descriptors with their comments, which those of generated code lack; of what isn't in the contract, such as
// health, it finds the latter.
type commented struct{}

// FindFileByPath implements protodesc.Resolver.
func (commented) FindFileByPath(path string) (protoreflect.FileDescriptor, error) {
	if f, err := v1.Files().FindFileByPath(path); err == nil {
		return f, nil
	}
	return protoregistry.GlobalFiles.FindFileByPath(path)
}

// FindDescriptorByName implements protodesc.Resolver.
func (commented) FindDescriptorByName(name protoreflect.FullName) (protoreflect.Descriptor, error) {
	if d, err := v1.Files().FindDescriptorByName(name); err == nil {
		return d, nil
	}
	return protoregistry.GlobalFiles.FindDescriptorByName(name)
}
