package server

import (
	"context"
	"errors"
	"fmt"
	"path"
	"strings"
	"sync"

	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/selection"
	"drillwright/server/clientfile"
	"drillwright/testdata/clients"
)

// preview asks every sample client's questions on both editions. Errors: *client.Invalid, the context's.
func preview(ctx context.Context, base, draft *rules.Edition, samples *v1.Samples) (*v1.Previewed, error) {
	asked, err := samplesFrom(base.Frame, draft.Frame, samples)
	if err != nil {
		return nil, err
	}
	seen, err := selection.Preview(ctx, base, draft, asked)
	if err != nil {
		return nil, err
	}
	out := previewedTo(seen)
	out.Parts = each(rules.Compare(base, draft), partChangeTo)
	out.FailedCases, out.Cases, err = failing(ctx, draft)
	return out, err
}

// failing runs the cases of an edition: those that fail, and how many there are. One that the edition has no words for any
// more fails too.
func failing(ctx context.Context, e *rules.Edition) (failed []*v1.FailedCase, all int32, err error) {
	cases, err := Cases(e)
	var problems authored.Problems
	if errors.As(err, &problems) {
		for _, p := range problems {
			failed = append(failed, &v1.FailedCase{File: p.At.Source.Name, Line: int32(p.At.Line), Lines: []string{p.Sentence()}})
		}
		return failed, int32(len(failed)), nil
	}
	if err != nil {
		return nil, 0, err
	}
	outcomes, err := selection.RunCases(ctx, e, cases, nil)
	if err != nil {
		return nil, 0, err
	}
	for _, o := range outcomes {
		if len(o.Faults) == 0 {
			continue
		}
		f := &v1.FailedCase{Case: o.Case.ID.Value, File: o.Case.At.Source.Name, Line: int32(o.Case.At.Line)}
		for _, fault := range o.Faults {
			f.Lines = append(f.Lines, "wanted "+fault.Wanted, "got "+fault.Got)
			for _, reason := range fault.Reasons {
				f.Lines = append(f.Lines, "reason "+reason)
			}
		}
		failed = append(failed, f)
	}
	return failed, int32(len(cases)), nil
}

// samplesFrom are the clients of the caller and, unless only those are wanted, the program's. A client of the caller's must
// be one that either edition can be asked about. The error is *client.Invalid.
func samplesFrom(base, draft *client.Frame, samples *v1.Samples) ([]selection.Sample, error) {
	var list []selection.Sample
	var wrong []client.Violation
	names := map[string]bool{}
	for i, c := range samples.GetClients() {
		at := fmt.Sprintf("samples.clients[%d].", i)
		if names[c.GetName()] {
			wrong = append(wrong, client.Violation{Field: at + "name", Message: fmt.Sprintf("%q stands twice", c.GetName()),
				Suggestion: "give each client a name of its own"})
		}
		names[c.GetName()] = true
		q, violations := converted(c)
		if len(violations) > 0 || len(check(base, q)) > 0 {
			violations = joined(violations, check(draft, q))
		}
		for _, v := range violations {
			v.Field = at + v.Field
			wrong = append(wrong, v)
		}
		list = append(list, selection.Sample{Name: c.GetName(), Request: q})
	}
	if len(wrong) > 0 || samples.GetOnlyThese() {
		return list, client.NewInvalid(wrong)
	}
	for _, own := range builtInSamples() {
		if !names[own.Name] {
			q, _ := converted(own)
			list = append(list, selection.Sample{Name: own.Name, Request: q})
		}
	}
	return list, nil
}

// builtInSamples are the clients that come with the program.
var builtInSamples = sync.OnceValue(func() []*v1.SampleClient {
	var list []*v1.SampleClient
	for _, f := range clients.Files() {
		c, err := clientfile.Read(f)
		if err != nil {
			panic(err) // a test reads them all
		}
		list = append(list, c.Sample(strings.TrimSuffix(path.Base(f.Name), ".yaml")))
	}
	return list
})
