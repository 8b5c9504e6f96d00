package server

import (
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules/analysis"
)

func findingTo(f analysis.Finding) *v1.Finding {
	out := &v1.Finding{Kind: string(f.Kind), Message: f.Message, Line: int32(f.At.Line), Column: int32(f.At.Col), Rules: f.Rules,
		Drills: f.Drills, NotDecided: f.NotDecided}
	if f.At.Source != nil {
		out.File = f.At.Source.Name
	}
	if f.Client != nil {
		out.Client = WriteClient(f.Client)
	}
	return out
}
