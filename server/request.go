package server

import (
	"context"
	"errors"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/selection"
)

// asking is any request about a client on a day.
type asking interface {
	GetProfile() *v1.Profile
	GetComplaints() []*v1.Complaint
	GetAsOf() string
}

// read converts a request that keeps the contract's limits, unless its bytes were read already; the caller is done with the reader
// when the answer stands. The error is *client.Invalid, when a day isn't in the calendar; it then holds whatever else is wrong as well.
func read(ctx context.Context, e *rules.Edition, m asking) (*reader, error) {
	if in := receivedAs(ctx, m); in != nil && in.reader != nil {
		r := in.reader
		in.reader = nil // whoever is done with it gives it to others
		r.request.Done = ctx.Done()
		return r, nil
	}
	r := readers.Get().(*reader)
	r.request.Done = ctx.Done()
	r.convert(m)
	if len(r.list) > 0 {
		defer r.done()
		return nil, client.NewInvalid(joined(r.list, selection.Faults(e, &r.request, named(m)...)))
	}
	return r, nil
}

// converted is a request to keep, and what days in it are none.
func converted(m asking) (*client.Request, []client.Violation) {
	r := &reader{}
	r.convert(m)
	return &r.request, r.list
}

// violationsOf is everything that is wrong with a request beside the contract's limits.
func violationsOf(ctx context.Context, e *rules.Edition, m asking) []client.Violation {
	r := &reader{request: client.Request{Done: ctx.Done()}}
	r.convert(m)
	return joined(r.list, selection.Faults(e, &r.request, named(m)...))
}

func check(frame *client.Frame, q *client.Request) []client.Violation {
	var invalid *client.Invalid
	if errors.As(client.Check(frame, q), &invalid) {
		return invalid.Violations
	}
	return nil
}

// named is what a request names by its id. That a lift or a drill is missing the contract says.
func named(m asking) []selection.Named {
	var list []selection.Named
	add := func(field, kind, id string) {
		if id != "" {
			list = append(list, selection.Named{Field: field, Kind: kind, ID: id})
		}
	}
	if m, ok := m.(interface{ GetDrill() string }); ok {
		add("drill", "drill", m.GetDrill())
	}
	if m, ok := m.(interface{ GetLift() string }); ok {
		add("lift", "drill", m.GetLift())
	}
	if m, ok := m.(interface{ GetPlan() string }); ok {
		add("plan", "plan", m.GetPlan())
	}
	return list
}

func (r *reader) convert(m asking) {
	if p := m.GetProfile(); p != nil {
		r.entries.of(p)
	}
	r.toRequest(m)
}
