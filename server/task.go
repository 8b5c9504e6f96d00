package server

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	spb "google.golang.org/genproto/googleapis/rpc/status"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/encoding/protodelim"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/anypb"
	"google.golang.org/protobuf/types/known/wrapperspb"

	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/rules/client"
)

// editionFiles is an edition before it is compiled.
type editionFiles struct {
	revision string
	files    []authored.File
}

// task is authors' work that needs nothing but what stands in it: no store, no server. It comes to the same bytes wherever it is done.
type task struct {
	base    editionFiles  // what a draft is read over
	next    editionFiles  // what is to take its place; without a revision it is the draft of the request
	request proto.Message // CheckRulebookRequest, PreviewRulebookRequest, PublishRulebookRequest or RestoreRevisionRequest
	review  *rules.Review // whose the draft is; nil for nobody's
}

// taskRunner does tasks. Errors are those of the task, and the context's.
type taskRunner interface {
	do(context.Context, task) (proto.Message, error)
	close()
}

// do is the response to the request; to one that publishes or restores, which passed all that it can pass here, the preview of that.
// compiled compiles an edition, unless it is at hand.
func (t task) do(ctx context.Context, compiled func(editionFiles) (*rules.Edition, error)) (proto.Message, error) {
	base, err := compiled(t.base)
	if err != nil {
		return nil, err
	}
	next, err := t.compile(base, compiled)
	if req, ok := t.request.(*v1.CheckRulebookRequest); ok {
		return checked(ctx, next, err, req)
	}
	if err != nil {
		return nil, err
	}
	switch req := t.request.(type) {
	case *v1.PreviewRulebookRequest:
		seen, err := preview(ctx, base, next, req.GetSamples())
		return &v1.PreviewRulebookResponse{Preview: seen}, err
	case publication:
		return publishable(ctx, base, next, req)
	}
	return nil, fmt.Errorf("%T is no task", t.request)
}

// compile compiles what is to take the place of the base. Errors: *badDraft, *unreadable.
func (t task) compile(base *rules.Edition, compiled func(editionFiles) (*rules.Edition, error)) (*rules.Edition, error) {
	if t.next.revision != "" {
		return compiled(t.next)
	}
	return drafted(base, t.request.(interface{ GetDraft() *v1.Draft }).GetDraft(), t.review)
}

// done has a task done.
func done[R proto.Message](ctx context.Context, s *Server, t task) (R, error) {
	m, err := s.tasks.do(ctx, t)
	if err != nil {
		return *new(R), err
	}
	return m.(R), nil
}

// inProcess does tasks with what the server has compiled already.
type inProcess struct{ *Server }

func (p inProcess) do(ctx context.Context, t task) (proto.Message, error) {
	return t.do(ctx, p.compiled)
}

func (p inProcess) close() {}

// Tasks and their results go between processes as messages, each after its length: of a task its two editions, its request, and the
// name and licence of who reviews it; of a result the status, with the response as its one detail where that is OK. The status of a
// fault of ours holds its text, for the log.

// maxTaskBytes is the most that one of the messages may have. An edition is a megabyte or two.
const maxTaskBytes = 64 << 20

func receive(r protodelim.Reader, m proto.Message) error {
	return protodelim.UnmarshalOptions{MaxSize: maxTaskBytes}.UnmarshalFrom(r, m)
}

func (t task) send(w io.Writer) error {
	request, err := anypb.New(t.request)
	if err != nil {
		return err
	}
	var by rules.Review
	if t.review != nil {
		by = *t.review
	}
	for _, m := range []proto.Message{editionFilesTo(t.base), editionFilesTo(t.next), request, wrapperspb.String(by.By),
		wrapperspb.String(by.Licence)} {
		if _, err := protodelim.MarshalTo(w, m); err != nil {
			return err
		}
	}
	return nil
}

func receiveTask(r protodelim.Reader) (t task, err error) {
	var base, next v1.GetRulebookResponse
	var request anypb.Any
	var by, licence wrapperspb.StringValue
	for _, m := range []proto.Message{&base, &next, &request, &by, &licence} {
		if err := receive(r, m); err != nil {
			return t, err
		}
	}
	t.base, t.next = editionFilesFrom(&base), editionFilesFrom(&next)
	if by.GetValue() != "" {
		t.review = &rules.Review{By: by.GetValue(), Licence: licence.GetValue()}
	}
	t.request, err = request.UnmarshalNew()
	return t, err
}

func editionFilesTo(e editionFiles) *v1.GetRulebookResponse {
	return &v1.GetRulebookResponse{Revision: e.revision, Files: each(e.files, func(f authored.File) *v1.RulebookFile {
		return &v1.RulebookFile{Name: f.Name, Text: string(f.Data)}
	})}
}

func editionFilesFrom(r *v1.GetRulebookResponse) editionFiles {
	return editionFiles{r.GetRevision(), filesFrom(r.GetFiles())}
}

func filesFrom(list []*v1.RulebookFile) []authored.File {
	return each(list, func(f *v1.RulebookFile) authored.File {
		return authored.File{Name: f.GetName(), Data: []byte(f.GetText())}
	})
}

func resultTo(request proto.Message, response any, err error) *spb.Status {
	if err == nil {
		var detail *anypb.Any
		if detail, err = anypb.New(response.(proto.Message)); err == nil {
			return &spb.Status{Details: []*anypb.Any{detail}}
		}
	}
	var invalid *client.Invalid
	if errors.As(err, &invalid) {
		inContractOrder(request.ProtoReflect().Descriptor(), invalid.Violations)
	}
	st := statusOf(err, "")
	if ours(st) {
		return &spb.Status{Code: int32(codes.Internal), Message: strings.ToValidUTF8(err.Error(), "�")}
	}
	return st.Proto()
}

func resultFrom(o *spb.Status) (proto.Message, error) {
	switch st := status.FromProto(o); {
	case ours(st):
		return nil, errors.New(st.Message())
	case st.Code() != codes.OK:
		return nil, st.Err()
	case len(o.GetDetails()) != 1:
		return nil, fmt.Errorf("a result of %d messages", len(o.GetDetails()))
	}
	return o.GetDetails()[0].UnmarshalNew()
}

// DoAuthorsWork does the tasks of the server that started this process, of which these are the standard streams, until that closes in or
// is no more: then it returns, whatever is in hand. It is for a process that does nothing else, which from now on runs only where the
// machine has nothing else to do; what stands in the way of that, it says on faults.
func DoAuthorsWork(in io.Reader, out, faults io.Writer) error {
	if err := giveWay(); err != nil {
		fmt.Fprintf(faults, "take the lowest priority: %v\n", err)
	}
	tasks := make(chan task)
	go func() {
		var w workshop
		for t := range tasks {
			response, err := guarded(context.Background(), nil, func(ctx context.Context, _ any) (any, error) { return t.do(ctx, w.compiled) })
			protodelim.MarshalTo(out, resultTo(t.request, response, err)) // where nobody reads, in ends
		}
	}()
	for r := bufio.NewReader(in); ; {
		t, err := receiveTask(r)
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return fmt.Errorf("read a task: %w", err)
		}
		tasks <- t
	}
}

// workshop keeps the last two editions compiled, for the next task is as a rule about one of them.
type workshop struct{ kept []*rules.Edition }

func (w *workshop) compiled(s editionFiles) (*rules.Edition, error) {
	var e, like *rules.Edition
	if i := slices.IndexFunc(w.kept, func(k *rules.Edition) bool { return k.Revision == s.revision }); i >= 0 {
		e = w.kept[i]
		w.kept = slices.Delete(w.kept, i, i+1)
	} else {
		if len(w.kept) > 0 {
			like = w.kept[0]
		}
		var err error
		if e, err = readRevision(like, s.revision, s.files); err != nil {
			return nil, err
		}
	}
	w.kept = append([]*rules.Edition{e}, w.kept[:min(len(w.kept), 1)]...)
	return e, nil
}
