package server

import (
	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
)

// problemTo converts a mistake of an author, with the change that mends it where that is certain.
func problemTo(p authored.Problem) *v1.RulebookProblem {
	out := &v1.RulebookProblem{Line: int32(p.At.Line), Column: int32(p.At.Col), Message: p.Message, Suggestion: p.Suggestion}
	if src := p.At.Source; src != nil {
		out.File = src.Name
		if p.At.Line >= 1 && p.At.Line <= len(src.Lines()) {
			out.LineText = src.Lines()[p.At.Line-1]
		}
	}
	if e := p.Fix; e != nil {
		out.Edits = []*v1.TextEdit{{File: out.File, StartLine: int32(e.From.Line), StartColumn: int32(e.From.Col),
			EndLine: int32(e.To.Line), EndColumn: int32(e.To.Col), NewText: e.New}}
	}
	return out
}
