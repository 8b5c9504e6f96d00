// Package clientfile reads and writes clients as files: the fields of the contract's Profile in YAML and, beside them, complaints
// and as_of. What is wrong with one is told at its line, also where a server found it.
package clientfile

import (
	"errors"
	"strings"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/status"

	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules/client"
)

// File is a client as a file holds it.
type File struct {
	Profile    *v1.Profile
	Complaints []*v1.Complaint
	// AsOf is "" when the file names no day.
	AsOf string

	whole     authored.Pos
	positions map[string]authored.Pos // by path of the field in a request
}

// besideProfile are the fields of a request that a client file has beside those of the profile.
var besideProfile = []string{"complaints", "as_of"}

// Sample is the client as a sample of previews.
func (c *File) Sample(name string) *v1.SampleClient {
	return &v1.SampleClient{Name: name, Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf}
}

// Locate says where a field of the request is written that isn't the client's.
func (c *File) Locate(field string, at authored.Pos) { c.positions[field] = at }

// Explain places what is wrong with a request (a *client.Invalid, or the status of a server) in the file it came
// from: the result is then authored.Problems. Any other error comes back as it is.
func (c *File) Explain(err error) error {
	violations := violationsIn(err)
	if len(violations) == 0 {
		return err
	}
	report := &authored.Report{}
	for _, v := range violations {
		if v.Field == "as_of" && c.AsOf == "" {
			v.Suggestion = "write the day, as_of: YYYY-MM-DD"
		}
		at, rest := c.position(v.Field)
		if rest != "" {
			v.Message = strings.TrimPrefix(rest, ".") + ": " + v.Message
		}
		report.Suggest(at, v.Suggested(), "%s", v.Message)
	}
	return report.Err()
}

// position finds the field, or the nearest one around it that the file has, and what of the path is left.
func (c *File) position(field string) (at authored.Pos, rest string) {
	for around := field; around != ""; around = around[:max(0, strings.LastIndexAny(around, ".["))] {
		if at, ok := c.positions[around]; ok {
			return at, field[len(around):]
		}
	}
	if field != "as_of" && !strings.HasPrefix(field, "profile.") && !strings.HasPrefix(field, "complaints") {
		return authored.Pos{Source: &authored.Source{Name: "request"}}, field
	}
	return c.whole, strings.TrimPrefix(field, "profile.")
}

func violationsIn(err error) []client.Violation {
	var invalid *client.Invalid
	if errors.As(err, &invalid) {
		return invalid.Violations
	}
	var list []client.Violation
	for _, d := range status.Convert(err).Details() {
		if bad, ok := d.(*errdetails.BadRequest); ok {
			for _, v := range bad.GetFieldViolations() {
				list = append(list, client.Violation{Field: v.GetField(), Message: v.GetDescription()})
			}
		}
	}
	return list
}
