package server

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/reflect/protoreflect"

	"drillwright/catalog"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/selection"
)

func TestTableOfErrors(t *testing.T) {
	for _, c := range []struct {
		err    error
		code   codes.Code
		reason string
	}{
		{&client.Invalid{Violations: []client.Violation{{Field: "as_of", Message: "it is missing"}}}, codes.InvalidArgument, "INVALID_REQUEST"},
		{fmt.Errorf("answer: %w", &selection.UnknownID{Kind: "plan", ID: "x"}), codes.NotFound, "UNKNOWN_PLAN"},
		{fmt.Errorf("read: %w", catalog.ErrNotFound), codes.NotFound, "NOT_FOUND"},
		{errNoEdition, codes.Unavailable, "NO_EDITION"},
		{context.DeadlineExceeded, codes.DeadlineExceeded, "DEADLINE_EXCEEDED"},
		{context.Canceled, codes.Canceled, "CANCELLED"},
		{errors.New("a secret of ours"), codes.Internal, "INTERNAL"},
	} {
		st := statusOf(c.err, "abc")
		require.Equal(t, c.code, st.Code(), "%v", c.err)
		require.Equal(t, c.reason, st.Details()[0].(*errdetails.ErrorInfo).GetReason(), "%v", c.err)
		require.NotContains(t, st.Message(), "secret")
	}
	passed := status.Error(codes.Unimplemented, "later")
	require.Equal(t, codes.Unimplemented, statusOf(passed, "").Code())
}

// A fault of ours is logged whole and told in general words; a panic is such a fault.
func TestFaultsAreLoggedAndHidden(t *testing.T) {
	for name, handler := range map[string]grpc.UnaryHandler{
		"error": func(context.Context, any) (any, error) { return nil, errors.New("a secret of ours") },
		"panic": func(context.Context, any) (any, error) { panic("a secret of ours") },
	} {
		var lines bytes.Buffer
		s, err := New(Config{Log: slog.New(slog.NewTextHandler(&lines, nil))})
		require.NoError(t, err)
		ctx := context.WithValue(context.Background(), requestIDKey{}, "id-9")
		_, err = s.report(ctx, nil, &grpc.UnaryServerInfo{FullMethod: "/x/Y"}, handler)
		require.Equal(t, codes.Internal, status.Code(err), name)
		require.NotContains(t, err.Error(), "secret", name)
		require.Contains(t, err.Error(), "id-9", name)
		require.Contains(t, lines.String(), "secret", name)
	}
}

// A caller's mistake may quote the caller: it isn't logged.
func TestMistakesOfCallersAreNotLogged(t *testing.T) {
	var lines bytes.Buffer
	s, err := New(Config{Log: slog.New(slog.NewTextHandler(&lines, nil))})
	require.NoError(t, err)
	_, err = s.report(context.Background(), nil, &grpc.UnaryServerInfo{FullMethod: "/x/Y"}, func(context.Context, any) (any, error) {
		return nil, &client.Invalid{Violations: []client.Violation{{Field: "profile.ref", Message: "quoted m-0412"}}}
	})
	require.Equal(t, codes.InvalidArgument, status.Code(err))
	require.NotContains(t, lines.String(), "m-0412")
	require.Contains(t, lines.String(), "InvalidArgument")
}

func TestRequestIDs(t *testing.T) {
	require.True(t, printable("7f3c-a/b:c"))
	for _, bad := range []string{"", "a b", "a\nb", "ä", string(make([]byte, 200))} {
		require.False(t, printable(bad), "%q", bad)
	}
}

// Every word that an answer can hold has its value in the contract.
func TestWordsOfAnswersAreInTheContract(t *testing.T) {
	has := func(values map[string]int32, words ...string) {
		for _, w := range words {
			require.Contains(t, values, w)
		}
	}
	has(v1.Outcome_value, selection.NoWarningSigns, selection.SeeSomeone, selection.QuestionsFirst)
	has(v1.Tier_value, selection.SameLift, selection.NearVariant, selection.SamePattern, selection.SameMuscles, selection.Elsewhere)
	has(v1.Verdict_value, string(rules.Open), string(rules.TestFirst), string(rules.NotToday))
	has(v1.ReasonStanding_value, rules.Holds, rules.NotRuledOut, rules.Untested)
	has(v1.FactStatus_value, "MEASURED", "PRESUMED", "UNKNOWN")
	has(v1.Keeps_value, "MOST", "SOME", "LITTLE")
	has(v1.Effect_value, "REFER", "BAR", "CAUTION", "FAVOUR", "DOSE", "ADJUST")
	has(v1.Scope_value, "PERSON", "REGION", "CLASS")
	has(v1.Urgency_value, "EMERGENCY", "TODAY", "SOON", "BEFORE_LOADING")
	has(v1.Moment_value, client.ComplaintMoments...)
	has(v1.Onset_value, client.Onsets...)
	e, err := rules.Embedded()
	require.NoError(t, err)
	has(v1.PainKind_value, e.Catalogue.Vocabulary.IDs("pain_kind")...)
	require.Len(t, v1.PainKind_value, len(e.Catalogue.Vocabulary.IDs("pain_kind"))+1)
}

// TestKindsOfTermAreInTheContract: the comment of ListTerms names every kind there is, once.
func TestKindsOfTermAreInTheContract(t *testing.T) {
	contract, err := os.ReadFile("../proto/drillwright/v1/catalog_service.proto")
	require.NoError(t, err)
	comment := regexp.MustCompile(`(?s)One kind of term: (.*?)\. Absent: all`).FindSubmatch(contract)
	require.NotNil(t, comment)
	named := regexp.MustCompile(`[a-z_]+`).FindAllString(strings.ReplaceAll(string(comment[1]), " or ", " "), -1)
	require.ElementsMatch(t, append((&catalog.Vocabulary{}).Kinds(), bookKinds...), named)
}

// A map has no order on the wire, so an answer that held one could differ from itself.
func TestAnswersHoldNoMaps(t *testing.T) {
	seen := map[protoreflect.FullName]bool{}
	var visit func(m protoreflect.MessageDescriptor)
	visit = func(m protoreflect.MessageDescriptor) {
		if seen[m.FullName()] {
			return
		}
		seen[m.FullName()] = true
		for i := range m.Fields().Len() {
			fd := m.Fields().Get(i)
			require.False(t, fd.IsMap(), "%s", fd.FullName())
			if fd.Message() != nil {
				visit(fd.Message())
			}
		}
	}
	for _, m := range []protoreflect.ProtoMessage{&v1.ScreenResponse{}, &v1.SubstituteResponse{}, &v1.SelectResponse{}, &v1.ExplainResponse{},
		&v1.GetDrillResponse{}, &v1.ListDrillsResponse{}, &v1.ListTermsResponse{}} {
		visit(m.ProtoReflect().Descriptor())
	}
}

// TestEveryEffectHasItsWordInTheContract: a reason of a new effect would be told as of none.
func TestEveryEffectHasItsWordInTheContract(t *testing.T) {
	for _, effect := range rules.Effects() {
		if effect == rules.Advise {
			continue // told as a caution of the answer, which says no effect
		}
		require.NotZero(t, v1.Effect_value[strings.ToUpper(string(effect))], effect)
	}
}
