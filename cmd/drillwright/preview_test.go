package main

import (
	"bytes"
	"context"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/protoadapt"

	v1 "drillwright/proto/drillwright/v1"
)

// bookServer answers as it is told to, and keeps what it was asked.
type bookServer struct {
	v1.UnimplementedRulebookServiceServer
	asked  *v1.PreviewRulebookRequest
	answer *v1.Previewed
	fails  error
	parts  []*v1.PartChange
}

func (b *bookServer) PreviewRulebook(_ context.Context, req *v1.PreviewRulebookRequest) (*v1.PreviewRulebookResponse, error) {
	b.asked = req
	return &v1.PreviewRulebookResponse{Preview: b.answer}, b.fails
}

func (b *bookServer) CompareRevisions(_ context.Context, req *v1.CompareRevisionsRequest) (*v1.CompareRevisionsResponse, error) {
	return &v1.CompareRevisionsResponse{From: req.GetFrom(), To: "live" + req.GetTo(), Parts: b.parts}, b.fails
}

func (b *bookServer) serve(t *testing.T) (address string) {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	g := grpc.NewServer()
	v1.RegisterRulebookServiceServer(g, b)
	go g.Serve(listener) // ends with the test
	t.Cleanup(g.Stop)
	return listener.Addr().String()
}

func command(t *testing.T, args ...string) (stdout string, err error) {
	var out, errs bytes.Buffer
	err = run(t.Context(), args, strings.NewReader(""), &out, &errs, func(string) string { return "" })
	return out.String(), err
}

// folder makes a folder with a name that a shell would take apart.
func folder(t *testing.T, files map[string]string) string {
	dir := filepath.Join(t.TempDir(), "my book")
	require.NoError(t, os.Mkdir(dir, 0o755))
	for name, text := range files {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644))
	}
	return dir
}

func TestPreviewCommand(t *testing.T) {
	b := &bookServer{answer: &v1.Previewed{BaseRevision: "base", DraftRevision: "draft", Digest: "digest",
		Churn: &v1.Churn{Clients: 2, Answers: 5}}}
	address := b.serve(t)
	dir := folder(t, map[string]string{"bars.yaml": "rules: []\n", "notes.txt": "no rules", "a.yaml": "doses: []\n"})
	people := folder(t, map[string]string{"ann.yaml": "age_years: 40\nas_of: 2026-11-24\n", "ben.yaml": "as_of: 2026-11-24\n"})

	out, err := command(t, "book", "preview", dir, "--clients", people, "--only-these", "--server", address)
	require.NoError(t, err)
	var names []string
	for _, f := range b.asked.Draft.Files {
		names = append(names, f.Name)
	}
	assert.Equal(t, []string{"a.yaml", "bars.yaml"}, names)
	assert.Equal(t, "doses: []\n", b.asked.Draft.Files[0].Text)
	assert.True(t, b.asked.Samples.OnlyThese)
	require.Len(t, b.asked.Samples.Clients, 2)
	assert.Equal(t, "ann", b.asked.Samples.Clients[0].Name)
	assert.Equal(t, int32(40), b.asked.Samples.Clients[0].Profile.GetAgeYears())
	lines := strings.Split(strings.TrimSpace(out), "\n")
	assert.Equal(t,
		"drillwright book publish '"+dir+"' --base base --preview digest --clients '"+people+"' --only-these --author NAME --note TEXT --server "+
			address, lines[len(lines)-1])
	assert.Contains(t, out, "Nothing: 5 answers of 2 sample clients stay as they are.")

	out, err = command(t, "book", "preview", dir, "--server", address, "--format", "json")
	require.NoError(t, err)
	assert.Nil(t, b.asked.Samples)
	assert.Contains(t, out, `"digest": "digest"`)
}

func TestPreviewCommandPlacesMistakes(t *testing.T) {
	fails := func(details ...protoadapt.MessageV1) error {
		st, err := status.New(codes.InvalidArgument, "something is wrong").WithDetails(details...)
		require.NoError(t, err)
		return st.Err()
	}
	b := &bookServer{}
	address := b.serve(t)
	dir := folder(t, map[string]string{"bars.yaml": "rules:\n  - id: one\n    whn: \"true\"\n"})
	people := folder(t, map[string]string{"ann.yaml": "age_years: 40\nas_of: 2026-11-24\n",
		"ben.yaml": "as_of: 2026-11-24\nkit: {has: [hammock]}\n"})

	b.fails = fails(protoadapt.MessageV1Of(&v1.RulebookProblems{Problems: []*v1.RulebookProblem{
		{File: "bars.yaml", Line: 3, Column: 5, Message: "unknown key \"whn\"", Suggestion: "did you mean \"when\"?"},
		{File: "catalog/data/press.yaml", Line: 7, Column: 1, Message: "of the base"}}}))
	_, err := command(t, "book", "preview", dir, "--server", address)
	require.EqualError(t, err, filepath.Join(dir, "bars.yaml")+`:3:5: unknown key "whn"; did you mean "when"?
  3 |     whn: "true"
    |     ^
catalog/data/press.yaml:7:1: of the base
2 problems in `+dir)
	assert.Equal(t, 1, exitCode(err))

	b.fails = fails(&errdetails.BadRequest{FieldViolations: []*errdetails.BadRequest_FieldViolation{
		{Field: "samples.clients[1].profile.kit.has[0]", Description: `unknown kit "hammock"`}}})
	_, err = command(t, "book", "preview", dir, "--clients", people, "--server", address)
	require.EqualError(t, err, filepath.Join(people, "ben.yaml")+`:2:13: unknown kit "hammock"
  2 | kit: {has: [hammock]}
    |             ^
1 problem in `+people)

	b.fails = status.Error(codes.FailedPrecondition, "not now")
	_, err = command(t, "book", "preview", dir, "--server", address)
	require.EqualError(t, err, "not now")
}

func TestPreviewCommandReadsItsClients(t *testing.T) {
	dir := folder(t, map[string]string{"bars.yaml": "rules: []\n"})
	people := folder(t, map[string]string{"ann.yaml": "age_year: 40\n", "ben.yaml": "ref: b\n"})
	_, err := command(t, "book", "preview", dir, "--clients", people)
	require.EqualError(t, err, filepath.Join(people, "ann.yaml")+`:1:1: unknown key "age_year"; did you mean "age_years"?
  1 | age_year: 40
    | ^
`+filepath.Join(people, "ben.yaml")+`: as_of is missing; write the day, as_of: YYYY-MM-DD
2 problems in `+people)

	_, err = command(t, "book", "preview", dir, "--only-these")
	assert.Equal(t, 2, exitCode(err))
	_, err = command(t, "book", "preview")
	assert.Equal(t, 2, exitCode(err))
	_, err = command(t, "book", "preview", filepath.Join(dir, "nowhere"))
	assert.Equal(t, 1, exitCode(err))
}

func TestCompareCommand(t *testing.T) {
	b := &bookServer{parts: []*v1.PartChange{
		{Kind: "dose", Id: "heavy", Change: "removed", File: "doses.yaml", Line: 9},
		{Kind: "drill", Id: "new-press", Change: "added", File: "press.yaml", Line: 12},
		{Kind: "rule", Id: "too-high", Change: "changed", File: "bars.yaml", Line: 4,
			Fields: []*v1.FieldChange{{Field: "when", Before: "a > 1", After: "a > 2"}, {Field: "untested", After: "Measure it."}}},
		{Kind: "rule", Id: "too-low", Change: "changed", File: "bars.yaml", Line: 14,
			Fields: []*v1.FieldChange{{Field: "untested", Before: "Measure it."}}}}}
	address := b.serve(t)
	out, err := command(t, "book", "compare", "old", "--server", address)
	require.NoError(t, err)
	assert.Equal(t, `From revision old to live

What was edited: 1 dose removed, 1 drill added, 2 rules changed
  − dose heavy, which stood at doses.yaml:9
  + drill new-press, new at press.yaml:12
  rule too-high, at bars.yaml:4
    when
    − a > 1
    + a > 2
    untested
    + Measure it.
  rule too-low, at bars.yaml:14
    untested
    − Measure it.
`, out)

	b.parts = nil
	out, err = command(t, "book", "compare", "old", "new", "--server", address)
	require.NoError(t, err)
	assert.Contains(t, out, "From revision old to livenew")
	assert.Contains(t, out, "No part differs")

	_, err = command(t, "book", "compare", "old")
	assert.Equal(t, 2, exitCode(err))
	assert.ErrorContains(t, err, "--server ADDR is missing")
	_, err = command(t, "book", "compare")
	assert.ErrorContains(t, err, "FROM is missing")
}
