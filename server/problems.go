package server

import (
	"drillwright/catalog"
	v1 "drillwright/proto/drillwright/v1"
)

// Problems are the problems of an answer, or of the detail of an error, as they would be read at home: name turns the
// name of a file in the draft into the one to show.
func Problems(list []*v1.RulebookProblem, name func(string) string) catalog.Problems {
	var out catalog.Problems
	for _, p := range list {
		src := &catalog.Source{Name: name(p.GetFile())}
		if n := int(p.GetLine()); n > 0 {
			src.Lines = make([]string, n)
			src.Lines[n-1] = p.GetLineText()
		}
		out = append(out, catalog.Problem{At: catalog.Pos{Source: src, Line: int(p.GetLine()), Col: int(p.GetColumn())}, Message: p.GetMessage(), Suggestion: p.GetSuggestion()})
	}
	return out
}

func problemTo(p catalog.Problem) *v1.RulebookProblem {
	out := &v1.RulebookProblem{Line: int32(p.At.Line), Column: int32(p.At.Col), Message: p.Message, Suggestion: p.Suggestion}
	if src := p.At.Source; src != nil {
		out.File = src.Name
		if p.At.Line >= 1 && p.At.Line <= len(src.Lines) {
			out.LineText = src.Lines[p.At.Line-1]
		}
	}
	return out
}
