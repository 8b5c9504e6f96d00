package server

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"buf.build/go/protovalidate"
	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/protoadapt"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/known/durationpb"

	"drillwright/catalog"
	"drillwright/rules/client"
	"drillwright/rules/selection"
)

const errorDomain = "drillwright"

// errNoEdition: nothing is loaded yet.
var errNoEdition = errors.New("no edition is loaded yet; try again")

// Shown of the violations of one request: what fits the headers that every client reads.
const (
	violationsInDetails = 50
	violationsInMessage = 10
)

// statusOf is the one table from error to gRPC code. What isn't in it is a fault of ours: its text stays here.
func statusOf(err error, requestID string) *status.Status {
	var invalid *client.Invalid
	var unknown *selection.UnknownID
	if st := rulebookStatus(err); st != nil {
		return st
	}
	switch {
	case errors.As(err, &invalid):
		return withDetails(codes.InvalidArgument, "INVALID_REQUEST", summary(invalid), nil, badRequest(invalid))
	case errors.As(err, &unknown):
		return withDetails(codes.NotFound, "UNKNOWN_"+strings.ToUpper(unknown.Kind), unknown.Error(),
			map[string]string{"id": unknown.ID, "nearest": strings.Join(unknown.Nearest, ",")},
			&errdetails.ResourceInfo{ResourceType: unknown.Kind, ResourceName: unknown.ID, Description: "no " + unknown.Kind + " has this id"})
	case errors.Is(err, catalog.ErrNotFound):
		return withDetails(codes.NotFound, "NOT_FOUND", err.Error(), nil)
	case errors.Is(err, errNoEdition):
		return withDetails(codes.Unavailable, "NO_EDITION", errNoEdition.Error(), nil,
			&errdetails.RetryInfo{RetryDelay: durationpb.New(time.Second)})
	case errors.Is(err, context.DeadlineExceeded):
		return withDetails(codes.DeadlineExceeded, "DEADLINE_EXCEEDED", "the call took longer than its deadline", nil)
	case errors.Is(err, context.Canceled):
		return withDetails(codes.Canceled, "CANCELLED", "the caller cancelled", nil)
	}
	if st, ok := status.FromError(err); ok {
		return st
	}
	return withDetails(codes.Internal, "INTERNAL", "a fault of the server; quote request id "+requestID, map[string]string{"request_id": requestID})
}

// ours is true for faults that someone who runs the server must look at.
func ours(st *status.Status) bool { return st.Code() == codes.Internal || st.Code() == codes.Unknown }

func withDetails(code codes.Code, reason, message string, metadata map[string]string, more ...protoadapt.MessageV1) *status.Status {
	st := status.New(code, message)
	info := &errdetails.ErrorInfo{Reason: reason, Domain: errorDomain, Metadata: metadata}
	if full, err := st.WithDetails(append([]protoadapt.MessageV1{info}, more...)...); err == nil {
		return full
	}
	return st
}

func badRequest(invalid *client.Invalid) *errdetails.BadRequest {
	bad := &errdetails.BadRequest{}
	for _, v := range invalid.Violations[:min(len(invalid.Violations), violationsInDetails)] {
		bad.FieldViolations = append(bad.FieldViolations, &errdetails.BadRequest_FieldViolation{Field: v.Field, Description: v.Sentence()})
	}
	return bad
}

// summary is the message for a person: the first violations, and how many there are.
func summary(invalid *client.Invalid) string {
	shown := &client.Invalid{Violations: invalid.Violations[:min(len(invalid.Violations), violationsInMessage)]}
	if more := len(invalid.Violations) - len(shown.Violations); more > 0 {
		return fmt.Sprintf("%v\nand %d more", shown, more)
	}
	return shown.Error()
}

// contractViolations puts what protovalidate found into our words.
func contractViolations(err *protovalidate.ValidationError) []client.Violation {
	var list []client.Violation
	for _, v := range err.Violations {
		out := client.Violation{Field: protovalidate.FieldPathString(v.Proto.GetField()), Message: v.Proto.GetMessage()}
		switch v.Proto.GetRuleId() {
		case "required":
			out.Message = "it is missing"
		case "string.pattern": // of the name of a file, else of a day
			if v.Proto.GetField().GetElements()[len(v.Proto.GetField().GetElements())-1].GetFieldName() == "name" {
				out.Message, out.Suggestion = fmt.Sprintf("%q is no name of a file", v.FieldValue.String()), "leave out line ends and other signs that can't be seen"
				break
			}
			out.Message, out.Suggestion = fmt.Sprintf("%q is not a day", v.FieldValue.String()), "write YYYY-MM-DD"
		case "enum.in":
			out.Message = "it must be " + strings.Join(allowed(v), " or ")
		}
		out.Message = cmp.Or(out.Message, "it is not allowed: "+v.Proto.GetRuleId())
		list = append(list, out)
	}
	return list
}

// joined adds the violations of fields that aren't in the list yet.
func joined(list, more []client.Violation) []client.Violation {
	have := map[string]bool{}
	for _, v := range list {
		have[v.Field] = true
	}
	for _, v := range more {
		if !have[v.Field] {
			list = append(list, v)
		}
	}
	return list
}

// allowed names the values that an enum field may have.
func allowed(v *protovalidate.Violation) []string {
	var names []string
	numbers := v.RuleValue.List()
	for i := range numbers.Len() {
		if n := protoreflect.EnumNumber(numbers.Get(i).Int()); n != 0 {
			names = append(names, string(v.FieldDescriptor.Enum().Values().ByNumber(n).Name()))
		}
	}
	return names
}
