package server

import (
	"context"
	"errors"
	"fmt"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server/sqlstore"
)

// FindSince implements RulebookService. It goes back through the history, one publication after the other, until one
// gives another answer: a later revision may answer as an earlier one did, so no shorter way finds the first of the row.
func (s *Server) FindSince(ctx context.Context, req *v1.FindSinceRequest) (*v1.FindSinceResponse, error) {
	if s.config.Store == nil {
		return nil, errNoStore
	}
	live, err := s.edition(ctx)
	if err != nil {
		return nil, err
	}
	today, err := s.answerTo(ctx, req, live)
	if err != nil {
		return nil, err
	}
	resp, before := &v1.FindSinceResponse{}, int64(0)
	given := map[string]answerOf{live.Revision: {response: today}}
	for {
		page, err := s.config.Store.History(ctx, before, 50)
		if err != nil {
			return nil, ofStore(err)
		}
		if len(page) == 0 {
			return resp, nil
		}
		for _, p := range page {
			a, known := given[p.Revision]
			if !known {
				a = s.answerOf(ctx, req, p)
				given[p.Revision] = a
			}
			switch {
			case ctx.Err() != nil:
				return nil, ctx.Err()
			case a.err != nil:
				resp.EndedAt = fmt.Sprintf("%s: %v", p.Revision, a.err)
				return resp, nil
			}
			if differs := difference("", today.ProtoReflect(), a.response.ProtoReflect()); differs != nil {
				resp.Before, resp.Difference = s.publicationTo(p), differs
				return resp, nil
			}
			resp.Since = s.publicationTo(p)
		}
		before = page[len(page)-1].Number
	}
}

type answerOf struct {
	response proto.Message
	err      error
}

// answerOf is what a revision answers, or why it can't be asked.
func (s *Server) answerOf(ctx context.Context, req *v1.FindSinceRequest, p sqlstore.Publication) answerOf {
	if p.Withdrawn != nil {
		return answerOf{err: errors.New("it was withdrawn, and is not asked any more")}
	}
	of, err := s.files(ctx, p.Revision)
	if err != nil {
		return answerOf{err: err}
	}
	e, err := s.compiled(of)
	if err != nil {
		return answerOf{err: err}
	}
	response, err := s.answerTo(ctx, req, newServed(e))
	return answerOf{response, err}
}

// answerTo gives the answer of an edition, without the receipt.
func (s *Server) answerTo(ctx context.Context, req *v1.FindSinceRequest, e *served) (proto.Message, error) {
	var r response
	var err error
	switch q := req.GetQuestion().(type) {
	case *v1.FindSinceRequest_Screen:
		r, err = s.screen(ctx, e, q.Screen)
	case *v1.FindSinceRequest_Substitute:
		r, err = s.substitute(ctx, e, q.Substitute)
	case *v1.FindSinceRequest_Select:
		r, err = s.session(ctx, e, q.Select)
	case *v1.FindSinceRequest_Explain:
		r, err = s.explain(ctx, e, q.Explain)
	}
	if err != nil {
		return nil, err
	}
	r.GetHeader().Receipt = nil
	return r, nil
}

// difference is the first field that differs, with what stands there now and stood there before; nil when none does.
func difference(path string, now, before protoreflect.Message) *v1.FieldChange {
	fields := now.Descriptor().Fields()
	for i := range fields.Len() {
		f := fields.Get(i)
		at := path + string(f.Name())
		switch a, b := now.Get(f), before.Get(f); {
		case now.Has(f) == before.Has(f) && a.Equal(b):
		case f.IsList():
			return listDifference(at, f, a.List(), b.List())
		case f.Message() != nil && now.Has(f) && before.Has(f):
			return difference(at+".", a.Message(), b.Message())
		default:
			return &v1.FieldChange{Field: at, Before: shown(f, b, before.Has(f)), After: shown(f, a, now.Has(f))}
		}
	}
	return nil
}

func listDifference(path string, f protoreflect.FieldDescriptor, now, before protoreflect.List) *v1.FieldChange {
	for i := range max(now.Len(), before.Len()) {
		at := fmt.Sprintf("%s[%d]", path, i)
		there, was := i < now.Len(), i < before.Len()
		switch {
		case there && was && now.Get(i).Equal(before.Get(i)):
		case there && was && f.Message() != nil:
			return difference(at+".", now.Get(i).Message(), before.Get(i).Message())
		default:
			c := &v1.FieldChange{Field: at}
			if was {
				c.Before = shown(f, before.Get(i), true)
			}
			if there {
				c.After = shown(f, now.Get(i), true)
			}
			return c
		}
	}
	return nil
}

// shown is a value as text: of a message its id or name, where it has one.
func shown(f protoreflect.FieldDescriptor, v protoreflect.Value, has bool) string {
	switch {
	case !has:
		return ""
	case f.Kind() == protoreflect.EnumKind:
		return string(f.Enum().Values().ByNumber(v.Enum()).Name())
	case f.Message() == nil:
		return v.String()
	}
	m := v.Message()
	for _, name := range []protoreflect.Name{"id", "rule", "drill", "words"} {
		if part := m.Descriptor().Fields().ByName(name); part != nil && m.Has(part) {
			return shown(part, m.Get(part), true)
		}
	}
	return "another " + string(m.Descriptor().Name()) // its encoding as text isn't the same bytes everywhere
}
