package language

import (
	"github.com/expr-lang/expr/parser"
	"github.com/expr-lang/expr/types"

	"drillwright/catalog/authored"
	"drillwright/rules/client"
)

// Limits that tests stand at the edge of.
const (
	MaxNodes     = maxNodes
	MaxParts     = maxParts
	MaxBookParts = maxBookParts
	MaxProblems  = maxProblems
)

// Quoted are the words in quotes of an expression.
var Quoted = quoted

// Parts is how many parts all expressions have so far.
func (r *Reader) Parts() int { return r.parts }

// Fill makes a reader take its book for as large as that.
func (r *Reader) Fill(parts int) { r.parts = parts }

// SlipsIn is how many typos are found in an expression that is passed over as having none; 0 for every other.
func SlipsIn(frame *client.Frame, tags *Tags, code string) int {
	if !faultless.MatchString(blank(code)) {
		return 0
	}
	r := &resolver{scope: scope{frame, tags, nil}, source: &source{report: &authored.Report{}, text: authored.NewText("bar", code),
		code: code}}
	return r.findTypos(blank(code)).count
}

// AsExpr is a condition as expr itself can compile it: any and all over motions, regions and stressors joined by or and
// and, one part for each member; a rung in quotes as its place; and measured(…), which expr has no word for, as true.
func AsExpr(frame *client.Frame, tags *Tags, code string) (string, error) {
	parsed, err := parser.Parse(code)
	if err != nil {
		return "", err
	}
	r := &resolver{scope: scope{frame, tags, AllRoots}, source: &source{report: &authored.Report{}, code: code}}
	return r.unrolled(parsed.Node).String(), nil
}

// TypesOf are the types of all paths, for expr's checker.
func TypesOf(frame *client.Frame, tags *Tags) types.Map {
	return scope{frame: frame, drill: tags}.typesOf()
}
