package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"

	v1 "drillwright/proto/drillwright/v1"
)

// nodeCall is a call for testdata/node/calls.js to make, and nodeResult what came of it.
type nodeCall struct {
	Service string          `json:"service"`
	Method  string          `json:"method"`
	Request json.RawMessage `json:"request"`
	Gzip    bool            `json:"gzip,omitempty"`
}

type nodeResult struct {
	Code    codes.Code
	Message string
	Details []struct {
		Type  protoreflect.FullName
		Value json.RawMessage
	}
	Answer json.RawMessage
	Bytes  int
}

// TestNode calls a server from Node with the folder that drillwright contract writes: what comes back is what a program in Go gets,
// answers and the details of errors alike.
func TestNode(t *testing.T) {
	dir, address := nodeWorkplace(t)
	ask, err := os.ReadFile("../../testdata/ask.json")
	require.NoError(t, err)
	bad := json.RawMessage(`{"as_of": "24 November", "lift": "push-up", "complaints": [{"region": "wrst", "intensity": 11}], "profile": {
		"age_years": 400, "kit": {"has": ["dumbell"]}, "range_deg": {"shoulder.flexion": {"left": {"value": 500, "date": "2026-11-20", "by": "SELF"}}}}}`)
	calls := []nodeCall{
		{Service: "SelectionService", Method: "Substitute", Request: ask},
		{Service: "SelectionService", Method: "Substitute", Request: ask, Gzip: true},
		{Service: "CatalogService", Method: "GetDrill", Request: json.RawMessage(`{"id": "barbel-overhead-pres"}`)},
		{Service: "SelectionService", Method: "Substitute", Request: bad},
		{Service: "RulebookService", Method: "PublishRulebook", Request: json.RawMessage(`{}`)},
	}
	given, err := json.Marshal(calls)
	require.NoError(t, err)
	var results []nodeResult
	require.NoError(t, json.Unmarshal([]byte(node(t, dir, given, "calls.js", address)), &results))
	require.Len(t, results, len(calls))

	conn, err := grpc.NewClient(address, grpc.WithTransportCredentials(insecure.NewCredentials()))
	require.NoError(t, err)
	defer conn.Close()
	for i, c := range calls {
		want, err := asked(t, conn, c)
		got := results[i]
		assert.Equal(t, status.Code(err), got.Code, "%s: %s", c.Method, got.Message)
		assert.Equal(t, status.Convert(err).Message(), got.Message)
		if err == nil {
			answer := want.ProtoReflect().New().Interface()
			require.NoError(t, protojson.Unmarshal(got.Answer, answer))
			assert.True(t, proto.Equal(want, answer), "%s: %s", c.Method, got.Answer)
		}
		details := status.Convert(err).Proto().GetDetails()
		require.Len(t, got.Details, len(details), c.Method)
		for j, d := range details {
			want, err := d.UnmarshalNew()
			require.NoError(t, err)
			assert.Equal(t, want.ProtoReflect().Descriptor().FullName(), got.Details[j].Type)
			detail := want.ProtoReflect().New().Interface()
			require.NoError(t, protojson.Unmarshal(got.Details[j].Value, detail))
			assert.True(t, proto.Equal(want, detail), "%s: %s", c.Method, got.Details[j].Value)
		}
	}
	assert.Equal(t, []codes.Code{codes.OK, codes.OK, codes.NotFound, codes.InvalidArgument, codes.InvalidArgument},
		[]codes.Code{results[0].Code, results[1].Code, results[2].Code, results[3].Code, results[4].Code})
	for _, field := range []string{"age_years", `profile.kit.has[0]`, "left.value", "complaints[0].region", "complaints[0].intensity", "as_of"} {
		assert.Contains(t, string(results[3].Details[1].Value), field, "all fields at once")
	}
	assert.Less(t, results[1].Bytes, results[0].Bytes/2, "gzip")
}

// asked makes the same call in Go.
func asked(t *testing.T, conn *grpc.ClientConn, c nodeCall) (proto.Message, error) {
	service, err := protoregistry.GlobalFiles.FindDescriptorByName(protoreflect.FullName("drillwright.v1." + c.Service))
	require.NoError(t, err)
	method := service.(protoreflect.ServiceDescriptor).Methods().ByName(protoreflect.Name(c.Method))
	in, err := protoregistry.GlobalTypes.FindMessageByName(method.Input().FullName())
	require.NoError(t, err)
	out, err := protoregistry.GlobalTypes.FindMessageByName(method.Output().FullName())
	require.NoError(t, err)
	request, answer := in.New().Interface(), out.New().Interface()
	require.NoError(t, protojson.Unmarshal(c.Request, request))
	err = conn.Invoke(context.Background(), "/"+string(service.FullName())+"/"+c.Method, request, answer)
	return answer, err
}

// TestReadmeNode runs the README's example as it is written, but for the address, and wants of it what must be shown: referrals and
// questions if there are any, what to do instead, and every caution.
func TestReadmeNode(t *testing.T) {
	dir, address := nodeWorkplace(t)
	text, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	blocks := regexp.MustCompile("(?ms)^```js\n(.*?)^```").FindAllStringSubmatch(string(text), -1)
	require.Len(t, blocks, 1)
	require.Contains(t, blocks[0][1], "127.0.0.1:7410")
	example := strings.ReplaceAll(blocks[0][1], "127.0.0.1:7410", address)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "example.js"), []byte(example), 0o644))
	conn, err := grpc.NewClient(address, grpc.WithTransportCredentials(insecure.NewCredentials()))
	require.NoError(t, err)
	defer conn.Close()

	ask, err := os.ReadFile("../../testdata/ask.json")
	require.NoError(t, err)
	request := &v1.SubstituteRequest{}
	require.NoError(t, protojson.Unmarshal(ask, request))
	open := proto.CloneOf(request)
	open.Profile.Screening = nil
	sign := proto.CloneOf(open)
	sign.Profile.Answers = map[string]*v1.Answer{"numb_or_weak_arm": {Is: v1.Reply_YES, Date: request.AsOf}}
	var referrals, questions, substitutes int
	for _, request := range []*v1.SubstituteRequest{request, open, sign} {
		ask, err := protojson.MarshalOptions{UseProtoNames: true}.Marshal(request)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(dir, "testdata", "ask.json"), ask, 0o644))
		answer, err := v1.NewSelectionServiceClient(conn).Substitute(context.Background(), request)
		require.NoError(t, err)
		screening := answer.Header.Screening
		want := []string{screening.Outcome.String()}
		for _, r := range screening.Referrals {
			want = append(want, r.Words)
		}
		for _, q := range screening.Questions {
			want = append(want, q.Asks)
		}
		for _, s := range answer.Substitutes {
			want = append(want, s.Verdict.String()+" "+s.Drill.Name)
		}
		for _, c := range answer.Header.Cautions {
			want = append(want, c.Words)
		}
		require.Equal(t, strings.Join(want, "\n")+"\n", node(t, dir, nil, "example.js"))
		referrals += len(screening.Referrals)
		questions += len(screening.Questions)
		substitutes += len(answer.Substitutes)
	}
	require.NotZero(t, referrals)
	require.NotZero(t, questions)
	require.NotZero(t, substitutes)
}

// nodeWorkplace is a folder with what a Node project has, the contract's folder among it, and the address of a server.
func nodeWorkplace(t *testing.T) (dir, address string) {
	if testing.Short() {
		t.Skip("starts Node and a server")
	}
	_, err := exec.LookPath("node")
	modules, pathErr := filepath.Abs("../../testdata/node/node_modules")
	require.NoError(t, pathErr)
	if err == nil {
		_, err = os.Stat(modules)
	}
	if err != nil {
		if os.Getenv("DRILLWRIGHT_CI") != "" {
			t.Fatalf("needs Node, and npm ci in testdata/node: %v", err)
		}
		t.Skipf("needs Node, and npm ci in testdata/node: %v", err)
	}
	dir = t.TempDir()
	require.NoError(t, os.Symlink(modules, filepath.Join(dir, "node_modules")))
	require.NoError(t, os.Mkdir(filepath.Join(dir, "testdata"), 0o777))
	calls, err := os.ReadFile("../../testdata/node/calls.js")
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "calls.js"), calls, 0o644))
	contract := []string{"contract", "--folder", filepath.Join(dir, "contract")}
	require.NoError(t, run(context.Background(), contract, strings.NewReader(""), io.Discard, io.Discard, os.Getenv))
	address, stop, err := bootServer()
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, stop()) })
	return dir, address
}

// node runs a program in the folder; its errors fail the test.
func node(t *testing.T, dir string, stdin []byte, args ...string) string {
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	var stdout, stderr bytes.Buffer
	cmd := exec.CommandContext(ctx, "node", args...)
	cmd.Dir, cmd.Stdin, cmd.Stdout, cmd.Stderr = dir, bytes.NewReader(stdin), &stdout, &stderr
	require.NoError(t, cmd.Run(), "%s", &stderr)
	return stdout.String()
}
