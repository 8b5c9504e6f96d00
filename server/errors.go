package server

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"buf.build/gen/go/bufbuild/protovalidate/protocolbuffers/go/buf/validate"
	"buf.build/go/protovalidate"
	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/protoadapt"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/known/durationpb"

	"drillwright/catalog"
	"drillwright/catalog/authored"
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
	var message unread
	var method *unknownMethod
	var late tooLong
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
	case errors.As(err, &message):
		return message.status()
	case errors.As(err, &method):
		return withDetails(codes.Unimplemented, "UNKNOWN_METHOD", method.Error(), nil)
	case errors.Is(err, catalog.ErrNotFound):
		return withDetails(codes.NotFound, "NOT_FOUND", err.Error(), nil)
	case errors.Is(err, errNoEdition):
		return withDetails(codes.Unavailable, "NO_EDITION", errNoEdition.Error(), nil,
			&errdetails.RetryInfo{RetryDelay: durationpb.New(time.Second)})
	case errors.As(err, &late):
		return withDetails(codes.DeadlineExceeded, "DEADLINE_EXCEEDED", late.Error(), nil)
	case errors.Is(err, context.DeadlineExceeded):
		return withDetails(codes.DeadlineExceeded, "DEADLINE_EXCEEDED", "the call took longer than its deadline", nil)
	case errors.Is(err, context.Canceled):
		return withDetails(codes.Canceled, "CANCELLED", "the caller cancelled", nil)
	}
	if st, ok := status.FromError(err); ok {
		return st
	}
	return withDetails(codes.Internal, "INTERNAL", "a fault of the server; quote request id "+requestID,
		map[string]string{"request_id": requestID})
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
		bad.FieldViolations = append(bad.FieldViolations, &errdetails.BadRequest_FieldViolation{Field: shortPath(v.Field),
			Description: v.Sentence()})
	}
	return bad
}

// shortPath is the path of a field without most of a key that is longer than any can be.
func shortPath(field string) string {
	const most = 250
	if len(field) <= most {
		return field
	}
	return strings.ToValidUTF8(field[:most], "") + "…"
}

// summary is the message for a person: the first violations, and how many there are.
func summary(invalid *client.Invalid) string {
	shown := &client.Invalid{Violations: slices.Clone(invalid.Violations[:min(len(invalid.Violations), violationsInMessage)])}
	for i := range shown.Violations {
		shown.Violations[i].Field = shortPath(shown.Violations[i].Field)
	}
	shown.More = invalid.More + len(invalid.Violations) - len(shown.Violations)
	return shown.Error()
}

// floodOf is how many fields must break the contract's limits for the edition not to be asked about the others.
const floodOf = 1000

// flood is what is told of a request that breaks the contract in more fields than anybody reads: the first of them, and how
// many more there are.
func flood(request protoreflect.MessageDescriptor, tooLong []client.Violation, err *protovalidate.ValidationError) error {
	type keyed struct {
		key string
		*protovalidate.Violation
	}
	var first []keyed
	begins := map[[2]string]string{} // how the keys of what stands in a field of a field begin
	for _, v := range err.Violations {
		if path := v.Proto.GetField().GetElements(); len(path) > 1 && len(first) == violationsInDetails {
			names := [2]string{path[0].GetFieldName(), path[1].GetFieldName()}
			begin, ok := begins[names]
			if !ok && path[0].WhichSubscript() == validate.FieldPathElement_Subscript_not_set_case {
				begin = contractKey(request, names[0]+"."+names[1])
				begins[names] = begin
			}
			if begin > first[len(first)-1].key {
				continue
			}
		}
		k := keyed{contractKey(request, protovalidate.FieldPathString(v.Proto.GetField())), v}
		at := len(first)
		for at > 0 && first[at-1].key > k.key {
			at--
		}
		if at < violationsInDetails {
			first = slices.Insert(first, at, k)
			first = first[:min(len(first), violationsInDetails)]
		}
	}
	reported := &protovalidate.ValidationError{Violations: each(first, func(k keyed) *protovalidate.Violation { return k.Violation })}
	return &client.Invalid{Violations: append(tooLong, contractViolations(reported)...), More: len(err.Violations) - len(first)}
}

// contractViolations puts what protovalidate found into our words.
func contractViolations(err *protovalidate.ValidationError) []client.Violation {
	list := make([]client.Violation, 0, len(err.Violations))
	for _, v := range err.Violations {
		out := client.Violation{Field: protovalidate.FieldPathString(v.Proto.GetField()), Message: v.Proto.GetMessage()}
		switch v.Proto.GetRuleId() {
		case "required":
			out.Message = "it is missing"
		case "string.pattern": // of the name of a file, else of a day
			if v.Proto.GetField().GetElements()[len(v.Proto.GetField().GetElements())-1].GetFieldName() == "name" {
				out.Message, out.Suggestion = fmt.Sprintf("%q is no name of a file", authored.Shortened(v.FieldValue.String())),
					"leave out line ends and other signs that can't be seen"
				break
			}
			out.Message, out.Suggestion = fmt.Sprintf("%q is not a day", authored.Shortened(v.FieldValue.String())), "write YYYY-MM-DD"
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
