package server

import (
	"context"
	"fmt"
	"path"
	"slices"
	"strings"
	"sync"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/selection"
	"drillwright/testdata/clients"
)

// preview asks every sample client's questions on both editions. Errors: *client.Invalid, the context's.
func (s *Server) preview(ctx context.Context, base, draft *rules.Edition, samples *v1.Samples) (*v1.Previewed, error) {
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
	return out, nil
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
			wrong = append(wrong, client.Violation{Field: at + "name", Message: fmt.Sprintf("%q stands twice", c.GetName()), Suggestion: "give each client a name of its own"})
		}
		names[c.GetName()] = true
		q, violations := convertRequest(c)
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
			list = append(list, own)
		}
	}
	return list, nil
}

// builtInSamples are the clients that come with the program.
var builtInSamples = sync.OnceValue(func() []selection.Sample {
	var list []selection.Sample
	for _, f := range clients.Files() {
		c, err := ReadClient(f)
		if err != nil {
			panic(err) // a test reads them all
		}
		q, violations := convertRequest(c.Sample(strings.TrimSuffix(path.Base(f.Name), ".yaml")))
		if len(violations) > 0 {
			panic(client.NewInvalid(violations))
		}
		list = append(list, selection.Sample{Name: strings.TrimSuffix(path.Base(f.Name), ".yaml"), Request: q})
	}
	return slices.Clip(list)
})

// Sample is the client as a sample of previews.
func (c *ClientFile) Sample(name string) *v1.SampleClient {
	return &v1.SampleClient{Name: name, Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf}
}
