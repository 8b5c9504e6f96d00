package server

import (
	"context"
	"errors"
	"fmt"

	"buf.build/go/protovalidate"

	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/selection"
	"drillwright/server/clientfile"
)

// Cases reads the cases of an edition, ready to be run. The error is authored.Problems: every mistake, those of the clients
// too, at its place in the file of cases.
func Cases(e *rules.Edition) ([]selection.Case, error) {
	d := authored.NewDecoder()
	read := e.Cases(d)
	if d.Count() > 0 || len(read) == 0 {
		return nil, d.Err()
	}
	validator, err := protovalidate.New(protovalidate.WithMessages(&v1.SelectRequest{}))
	if err != nil {
		return nil, err
	}
	cases := make([]selection.Case, len(read))
	for i, c := range read {
		q, err := caseRequest(e, validator, d, c)
		if err != nil {
			return nil, fmt.Errorf("read case %q: %w", c.ID.Value, err)
		}
		cases[i] = selection.Case{Case: c, Request: q}
	}
	if err := d.Err(); err != nil {
		return nil, err
	}
	return cases, nil
}

// caseRequest is what a case asks, as the service would get it: within the contract and checked against the edition. What is
// wrong with it the decoder's report takes.
func caseRequest(e *rules.Edition, validator protovalidate.Validator, d *authored.Decoder, c *rules.Case) (*client.Request, error) {
	before := d.Count()
	file := clientfile.ReadNode(d, c.Client.Node)
	if d.Count() > before {
		return nil, nil
	}
	for _, field := range []string{"minutes", "kit_taken", "stations_taken"} {
		file.Locate(field, c.Ask.At)
	}
	asked := &v1.SelectRequest{Profile: file.Profile, Complaints: file.Complaints, AsOf: file.AsOf, Minutes: int32(c.Ask.Minutes),
		KitTaken: values(c.Ask.KitTaken), StationsTaken: values(c.Ask.StationsTaken)}
	var wrong []client.Violation
	var broken *protovalidate.ValidationError
	if err := validator.Validate(asked); errors.As(err, &broken) {
		wrong = contractViolations(broken)
	} else if err != nil {
		return nil, err
	}
	q, _ := converted(asked)
	q.Lift = c.Ask.Substitute.Value
	var problems authored.Problems
	if errors.As(file.Explain(client.NewInvalid(joined(wrong, violationsOf(context.Background(), e, asked)))), &problems) {
		for _, p := range problems {
			d.Suggest(p.At, p.Suggestion, "%s", p.Message)
		}
	}
	return q, nil
}

func values(list []authored.Text) []string {
	var out []string
	for _, t := range list {
		out = append(out, t.Value)
	}
	return out
}
