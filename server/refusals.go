package server

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/protoadapt"
	"google.golang.org/protobuf/types/known/durationpb"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/server/sqlstore"
)

// errStale: the store hasn't been reached for longer than Config.StaleAfter.
var errStale = errors.New("the store of editions can't be reached, and has not been for too long to answer without it; try again later")

// unknownRevision is a revision that was never published here.
type unknownRevision struct{ id string }

func (u *unknownRevision) Error() string { return fmt.Sprintf("there is no revision %q", u.id) }

// Unwrap makes errors.Is(err, catalog.ErrNotFound) true.
func (u *unknownRevision) Unwrap() error { return catalog.ErrNotFound }

// notKept is a request that pins a revision which isn't kept ready.
type notKept struct {
	id   string
	kept []string
}

func (n *notKept) Error() string {
	return fmt.Sprintf("revision %q isn't kept ready to answer; those that are: %s", n.id, strings.Join(n.kept, ", "))
}

// unreadable is a published edition that this program can't read.
type unreadable struct {
	id  string
	why error
}

func (u *unreadable) Error() string {
	return fmt.Sprintf("revision %q can't be read by this program: %v", u.id, u.why)
}

func (u *unreadable) Unwrap() error { return u.why }

// refusal is an edit that can't go on as things stand: FAILED_PRECONDITION.
type refusal struct {
	reason  string // NO_STORE, CASES_FAIL, …
	subject string // what it is about: a revision, a case
	words   string
}

func (r *refusal) Error() string { return r.words }

func refused(reason, subject, format string, args ...any) error {
	return &refusal{reason, subject, fmt.Sprintf(format, args...)}
}

// rulebookStatus is the part of the table from error to gRPC code that belongs to the rulebook service; nil for what
// isn't in it.
func rulebookStatus(err error) *status.Status {
	var (
		bad       *badDraft
		unknown   *unknownRevision
		kept      *notKept
		cant      *unreadable
		old       *rules.OldFormat
		no        *refusal
		stale     *sqlstore.Stale
		withdrawn *sqlstore.Withdrawn
		fault     storeFault
		invalid   sqlstore.Invalid
		role      *missingRole
	)
	switch {
	case errors.As(err, &bad):
		problems := &v1.RulebookProblems{Problems: each(bad.Problems[:min(len(bad.Problems), problemsInDetails)], problemTo)}
		fields := &errdetails.BadRequest{}
		for _, p := range bad.Problems[:min(len(bad.Problems), violationsInDetails)] {
			fields.FieldViolations = append(fields.FieldViolations, &errdetails.BadRequest_FieldViolation{Field: "draft.files[" + p.At.Source.Name +
				"]", Description: p.At.String() + ": " + p.Sentence()})
		}
		return withDetails(codes.InvalidArgument, "INVALID_DRAFT", shortened(bad.Problems), nil, fields, protoadapt.MessageV1Of(problems))
	case errors.As(err, &unknown):
		return withDetails(codes.NotFound, "UNKNOWN_REVISION", unknown.Error(), map[string]string{"revision": unknown.id},
			&errdetails.ResourceInfo{ResourceType: "revision", ResourceName: unknown.id, Description: "no revision has this digest"})
	case errors.As(err, &kept):
		return precondition("REVISION_NOT_KEPT", kept.id, kept.Error())
	case errors.As(err, &cant) && errors.As(err, &old):
		return precondition("OLD_FORMAT", cant.id, fmt.Sprintf("revision %q is of format %d, and this program reads format %d: "+
			"copy it (book copy --revision), upgrade the copy (book upgrade) and publish that", cant.id, old.Format, rules.Format))
	case errors.As(err, &cant):
		return precondition("UNREADABLE", cant.id, cant.Error())
	case errors.As(err, &no):
		return precondition(no.reason, no.subject, no.words)
	case errors.As(err, &stale):
		return withDetails(codes.Aborted, "STALE_BASE", stale.Error(), map[string]string{"live": stale.Live.Revision})
	case errors.As(err, &withdrawn):
		return precondition("WITHDRAWN", withdrawn.Revision, withdrawn.Error())
	case errors.Is(err, sqlstore.ErrRequestReused):
		return withDetails(codes.AlreadyExists, "REQUEST_ID_REUSED", "this request_id was used for another request; make a new one", nil)
	case errors.Is(err, sqlstore.ErrNothingLeft):
		return precondition("NOTHING_LEFT", "", "nothing that was published before could go live in its place: publish another edition first")
	case errors.Is(err, sqlstore.ErrUnchanged):
		return precondition("NOTHING_CHANGES", "", sqlstore.ErrUnchanged.Error())
	case errors.Is(err, sqlstore.ErrUnknownRevision):
		return withDetails(codes.NotFound, "UNKNOWN_REVISION", "there is no such revision", nil)
	case errors.As(err, &invalid):
		return withDetails(codes.InvalidArgument, "INVALID_REQUEST", invalid.Error(), nil)
	case errors.Is(err, errNoToken):
		return withDetails(codes.Unauthenticated, "NO_VALID_TOKEN", errNoToken.Error(), nil)
	case errors.As(err, &role):
		return withDetails(codes.PermissionDenied, "ROLE_MISSING", role.Error(), map[string]string{"roles": role.inWords(",")})
	case errors.Is(err, errStaleTokens):
		return withDetails(codes.Unavailable, "STALE_TOKENS", errStaleTokens.Error(), nil,
			&errdetails.RetryInfo{RetryDelay: durationpb.New(10 * time.Second)})
	case errors.Is(err, errFar):
		return withDetails(codes.PermissionDenied, "NOT_LOOPBACK", errFar.Error(), nil)
	case errors.Is(err, errStale):
		return withDetails(codes.Unavailable, "STALE_STORE", errStale.Error(), nil,
			&errdetails.RetryInfo{RetryDelay: durationpb.New(10 * time.Second)})
	case errors.As(err, &fault) && sqlstore.FaultOf(fault) == sqlstore.Away:
		return withDetails(codes.Unavailable, "STORE_UNAVAILABLE", "the store of editions can't be reached; try again", nil,
			&errdetails.RetryInfo{RetryDelay: durationpb.New(time.Second)})
	case errors.As(err, &fault):
		kind := sqlstore.FaultOf(fault)
		return withDetails(codes.Unavailable, storeReasons[kind],
			"the store of editions "+kind.Words()+": whoever runs the server must see to it", nil)
	}
	return nil
}

// storeReasons are those of faults that trying again doesn't mend.
var storeReasons = map[sqlstore.Fault]string{sqlstore.Full: "STORE_FULL", sqlstore.ReadOnly: "STORE_READ_ONLY",
	sqlstore.BadDisk: "STORE_DISK_FAULT", sqlstore.Corrupt: "STORE_DAMAGED"}

func precondition(reason, subject, words string) *status.Status {
	return withDetails(codes.FailedPrecondition, reason, words, nil, &errdetails.PreconditionFailure{
		Violations: []*errdetails.PreconditionFailure_Violation{{Type: reason, Subject: subject, Description: words}}})
}

// problemsInDetails is how many problems of a draft an error shows with their edits: what fits the headers that every
// client reads. CheckRulebook shows more.
const problemsInDetails = 20

func shortened(problems authored.Problems) string {
	const most = 10
	if len(problems) <= most {
		return problems.Error()
	}
	return fmt.Sprintf("%v\nand %d more", problems[:most], problems[most:].Count())
}
