package server_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	reflectionv1 "google.golang.org/grpc/reflection/grpc_reflection_v1"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protodesc"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/descriptorpb"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server"
)

// TestReflectionTellsComments: who asks the server what it speaks is told what the contract says of it, and all in one answer that
// stands alone.
func TestReflectionTellsComments(t *testing.T) {
	conn := boot(t, server.Config{Edition: edition})
	stream, err := reflectionv1.NewServerReflectionClient(conn).ServerReflectionInfo(within(t))
	require.NoError(t, err)
	of := &reflectionv1.ServerReflectionRequest_FileContainingSymbol{FileContainingSymbol: "drillwright.v1.RulebookService"}
	require.NoError(t, stream.Send(&reflectionv1.ServerReflectionRequest{MessageRequest: of}))
	answer, err := stream.Recv()
	require.NoError(t, err)
	set, size := &descriptorpb.FileDescriptorSet{}, proto.Size(answer)
	for _, encoded := range answer.GetFileDescriptorResponse().GetFileDescriptorProto() {
		f := &descriptorpb.FileDescriptorProto{}
		require.NoError(t, proto.Unmarshal(encoded, f))
		set.File = append(set.File, f)
	}
	require.Less(t, size, 1<<20, "clients take up to 4 MB")
	files, err := protodesc.NewFiles(set)
	require.NoError(t, err)
	for _, name := range []protoreflect.FullName{"drillwright.v1.RulebookService", "drillwright.v1.RulebookService.PublishRulebook",
		"drillwright.v1.Profile", "drillwright.v1.Profile.age_years", "drillwright.v1.LEFT", "google.protobuf.Timestamp"} {
		told, err := files.FindDescriptorByName(name)
		require.NoError(t, err)
		want, err := v1.Files().FindDescriptorByName(name)
		require.NoError(t, err)
		comment := told.ParentFile().SourceLocations().ByDescriptor(told).LeadingComments
		assert.NotEmpty(t, comment, name)
		assert.Equal(t, want.ParentFile().SourceLocations().ByDescriptor(want).LeadingComments, comment, name)
	}
	require.NoError(t, stream.CloseSend())
}
