package contract_test

import (
	"encoding/json"
	"io/fs"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	_ "google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/protobuf/encoding/prototext"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protodesc"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"
	"google.golang.org/protobuf/types/descriptorpb"

	contract "drillwright/proto"
	v1 "drillwright/proto/drillwright/v1"
)

// descriptors are the files of the descriptor set, in its order.
func descriptors(t *testing.T) []*descriptorpb.FileDescriptorProto {
	set := &descriptorpb.FileDescriptorSet{}
	require.NoError(t, proto.Unmarshal(v1.DescriptorSet(), set))
	return set.File
}

// TestRetryPolicyIsForReadingAlone holds the service config against the contract: what changes nothing is called again, and
// nothing else is.
func TestRetryPolicyIsForReadingAlone(t *testing.T) {
	var config struct {
		MethodConfig []struct {
			Name        []struct{ Service, Method string }
			RetryPolicy struct {
				MaxAttempts          int
				RetryableStatusCodes []string
			}
		}
	}
	require.NoError(t, json.Unmarshal([]byte(contract.ServiceConfig), &config))
	var retried []string
	for _, c := range config.MethodConfig {
		assert.Equal(t, []string{"UNAVAILABLE"}, c.RetryPolicy.RetryableStatusCodes)
		assert.Equal(t, 5, c.RetryPolicy.MaxAttempts, "what clients carry out at most")
		for _, n := range c.Name {
			retried = append(retried, n.Service+"/"+n.Method)
		}
	}
	var reading, changing []string
	for _, f := range descriptors(t) {
		for _, s := range f.GetService() {
			for _, m := range s.GetMethod() {
				name := f.GetPackage() + "." + s.GetName() + "/" + m.GetName()
				if m.GetOptions().GetIdempotencyLevel() == descriptorpb.MethodOptions_NO_SIDE_EFFECTS {
					reading = append(reading, name)
				} else {
					changing = append(changing, name)
				}
			}
		}
	}
	require.ElementsMatch(t, reading, retried)
	require.ElementsMatch(t, []string{"drillwright.v1.RulebookService/PublishRulebook", "drillwright.v1.RulebookService/RestoreRevision",
		"drillwright.v1.RulebookService/WithdrawRevision"}, changing, "a method that changes what is live is named here")
}

// TestContractIsWhatTheProgramSpeaks: the descriptors from the .proto files are those that the generated code is linked with, but
// for options of files and extensions, and for descriptor.proto, which newer releases only add to.
func TestContractIsWhatTheProgramSpeaks(t *testing.T) {
	for _, f := range descriptors(t) {
		linked, err := protoregistry.GlobalFiles.FindFileByPath(f.GetName())
		require.NoError(t, err)
		if f.GetName() == "google/protobuf/descriptor.proto" {
			continue
		}
		want := protodesc.ToFileDescriptorProto(linked)
		f.SourceCodeInfo, f.Options, want.Options = nil, nil, nil
		for _, x := range append(f.Extension, want.Extension...) {
			x.JsonName, x.Options = nil, nil // extensions have no name in JSON; some compilers write one
		}
		assert.True(t, proto.Equal(want, f), "%s\n%s\n%s", f.GetName(), prototext.Format(want), prototext.Format(f))
	}
}

// TestContractStandsAlone: everything that a file imports is in the folder and in the descriptor set, and nothing else is.
func TestContractStandsAlone(t *testing.T) {
	var texts, described []string
	imports := regexp.MustCompile(`(?m)^import (?:public )?"(.*)";`)
	imported := map[string]bool{"google/rpc/error_details.proto": true, "google/rpc/status.proto": true} // what errors are told in
	err := fs.WalkDir(contract.Folder(), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || path.Ext(name) != ".proto" {
			return err
		}
		text, err := fs.ReadFile(contract.Folder(), name)
		texts = append(texts, name)
		for _, m := range imports.FindAllStringSubmatch(string(text), -1) {
			imported[m[1]] = true
		}
		if !strings.HasPrefix(name, "drillwright/") {
			assert.Contains(t, string(text), "Copyright", name)
			assert.Regexp(t, "(?i)licensed under the Apache License|THIS SOFTWARE IS PROVIDED", string(text), name)
		}
		return err
	})
	require.NoError(t, err)
	for _, f := range descriptors(t) {
		described = append(described, f.GetName())
		assert.NotEmpty(t, f.GetSourceCodeInfo().GetLocation(), f.GetName())
		for _, d := range f.GetDependency() {
			assert.Contains(t, described, d, "it comes before %s", f.GetName())
		}
	}
	require.ElementsMatch(t, texts, described)
	for _, name := range texts {
		assert.True(t, imported[name] || strings.HasSuffix(name, "_service.proto"), "nothing needs %s", name)
		delete(imported, name)
	}
	require.Empty(t, imported, "these are imported and not there")
}

// TestEverythingIsCommented: comments reach those who read the contract as descriptors.
func TestEverythingIsCommented(t *testing.T) {
	count := 0
	has := func(d protoreflect.Descriptor) {
		count++
		assert.NotEmpty(t, v1.Comment(d), d.FullName())
	}
	var messages func(protoreflect.MessageDescriptors)
	enums := func(list protoreflect.EnumDescriptors) {
		for i := range list.Len() {
			has(list.Get(i))
			for j := range list.Get(i).Values().Len() {
				has(list.Get(i).Values().Get(j))
			}
		}
	}
	messages = func(list protoreflect.MessageDescriptors) {
		for i := range list.Len() {
			if m := list.Get(i); !m.IsMapEntry() {
				has(m)
				for j := range m.Fields().Len() {
					has(m.Fields().Get(j))
				}
				enums(m.Enums())
				messages(m.Messages())
			}
		}
	}
	v1.Files().RangeFilesByPackage("drillwright.v1", func(f protoreflect.FileDescriptor) bool {
		for i := range f.Services().Len() {
			has(f.Services().Get(i))
			for j := range f.Services().Get(i).Methods().Len() {
				has(f.Services().Get(i).Methods().Get(j))
			}
		}
		messages(f.Messages())
		enums(f.Enums())
		return true
	})
	require.Greater(t, count, 300)
}

// TestNoticeNamesWhatIsNotOurs: every folder of others' files, and a licence that is there.
func TestNoticeNamesWhatIsNotOurs(t *testing.T) {
	notice, err := fs.ReadFile(contract.Folder(), "NOTICE")
	require.NoError(t, err)
	var folders []string
	err = fs.WalkDir(contract.Folder(), ".", func(name string, d fs.DirEntry, err error) error {
		if dir := path.Dir(name); path.Ext(name) == ".proto" && !strings.HasPrefix(name, "drillwright/") && !slices.Contains(folders, dir) {
			folders = append(folders, dir)
		}
		return err
	})
	require.NoError(t, err)
	require.Len(t, folders, 4)
	for _, f := range folders {
		assert.Contains(t, string(notice), f+"/")
	}
	for _, m := range regexp.MustCompile(`\S+/LICENSE`).FindAllString(string(notice), -1) {
		text, err := fs.ReadFile(contract.Folder(), m)
		require.NoError(t, err)
		assert.Contains(t, string(text), "Apache License")
	}
}
