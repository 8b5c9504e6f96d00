// Package bench measures the judge of compiled rules beside the same rules as CEL programs. It is a module of its
// own, so that its version of CEL binds nobody else. In its folder: go test -bench Judge
//
// What CEL is given, so that it does the same work as well as it can:
//   - each rule is one program, checked and optimised once; any and all over motions, regions and stressors are
//     written out, as ours are;
//   - variables are numbered, and every value is a CEL value before the clock starts: a request builds no map;
//   - a fact that isn't known is CEL's own unknown, which its operators carry on as partial evaluation does. It is
//     given in two ways, see way; "cel" is the faster one. A rule that reads no unknown runs without either.
//
// Where CEL means something else:
//   - It refuses to order NaN, which stands here for a number that isn't stated and makes each comparison false.
//     Such a number is given as the infinity that makes the comparison false, so that nothing has to be guarded.
//   - An unknown is all or nothing. A range presumed to be at least 150° is plainly unknown to CEL, and so is a word
//     of which two of three values are possible, or a list of which one member is open. CEL therefore answers
//     unknown more often than we do, and never the opposite.
//   - A word that a drill doesn't have is the empty text, equal to itself. The conditions compare no two such words.
//   - It answers true, false or unknown. What a test would settle (firm) and what a clearance covers, which our judge
//     works out for bars in the same pass, is not asked of it.
package bench

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/expr-lang/expr/ast"
	"github.com/expr-lang/expr/parser"

	"drillwright/rules/client"
)

// variable is one value that programs read. Its name is the letter of its root and its place: d of the drill, l of
// the lift, f of the facts, m of what was measured.
type variable struct {
	path string // without drill. or lift.
	kind client.Kind
	// top: where the number isn't stated it counts as more than any other, else as less.
	top bool
}

// translator writes conditions as CEL and numbers the variables as it meets them.
type translator struct {
	frame  *client.Frame
	vars   map[byte][]variable
	member string // of a domain that is being written out
	reads  []int  // facts that the condition at hand reads
}

func newTranslator(frame *client.Frame) *translator {
	return &translator{frame: frame, vars: map[byte][]variable{}}
}

// condition writes one condition. Mistakes can't happen: the book has been read.
func (t *translator) condition(text string) (code string, reads []int) {
	tree, err := parser.Parse(text)
	if err != nil {
		panic(err)
	}
	t.reads = nil
	return t.truth(tree.Node), t.reads
}

func (t *translator) truth(n ast.Node) string {
	switch n := n.(type) {
	case *ast.BoolNode:
		return strconv.FormatBool(n.Value)
	case *ast.UnaryNode:
		return "!(" + t.truth(n.Node) + ")"
	case *ast.MemberNode:
		return t.variable(t.path(n), false)
	case *ast.CallNode:
		return t.numbered('m', variable{path: t.path(n.Arguments[0]), kind: client.Bool})
	case *ast.BuiltinNode:
		return t.quantified(n)
	case *ast.BinaryNode:
		switch n.Operator {
		case "and", "&&":
			return "(" + t.truth(n.Left) + " && " + t.truth(n.Right) + ")"
		case "or", "||":
			return "(" + t.truth(n.Left) + " || " + t.truth(n.Right) + ")"
		case "in":
			return "(" + t.words(n.Left) + " in " + t.words(n.Right) + ")"
		}
		return t.comparison(n)
	}
	panic(fmt.Sprintf("%T is no condition", n))
}

// comparison makes a number that isn't stated fall on the side where the comparison is false.
func (t *translator) comparison(n *ast.BinaryNode) string {
	if count, ok := n.Left.(*ast.BuiltinNode); ok {
		return fmt.Sprintf("(%s.size() %s %s)", t.filtered(count, "filter"), n.Operator, n.Right)
	}
	if t.isWord(n.Left) || t.isWord(n.Right) {
		return "(" + t.words(n.Left) + " " + n.Operator + " " + t.words(n.Right) + ")"
	}
	less := n.Operator[0] == '<'
	return "(" + t.number(n.Left, less) + " " + n.Operator + " " + t.number(n.Right, !less) + ")"
}

func (t *translator) number(n ast.Node, top bool) string {
	switch n := n.(type) {
	case *ast.IntegerNode:
		return strconv.Itoa(n.Value) + ".0"
	case *ast.FloatNode:
		return strconv.FormatFloat(n.Value, 'f', -1, 64)
	case *ast.UnaryNode:
		return "(-" + t.number(n.Node, !top) + ")"
	case *ast.ConditionalNode:
		return "(" + t.truth(n.Cond) + " ? " + t.number(n.Exp1, top) + " : " + t.number(n.Exp2, top) + ")"
	case *ast.BinaryNode: // products have a positive constant on one side
		return "(" + t.number(n.Left, top) + " " + n.Operator + " " + t.number(n.Right, top != (n.Operator == "-")) + ")"
	}
	return t.variable(t.path(n), top)
}

func (t *translator) words(n ast.Node) string {
	switch n := n.(type) {
	case *ast.StringNode:
		return strconv.Quote(n.Value)
	case *ast.PointerNode:
		return "e"
	case *ast.ArrayNode:
		items := make([]string, len(n.Nodes))
		for i, item := range n.Nodes {
			items[i] = t.words(item)
		}
		return "[" + strings.Join(items, ", ") + "]"
	}
	return t.variable(t.path(n), false)
}

func (t *translator) isWord(n ast.Node) bool {
	switch n := n.(type) {
	case *ast.StringNode, *ast.PointerNode:
		return true
	case *ast.MemberNode, *ast.IdentifierNode:
		return t.kind(t.path(n)) == client.Word
	}
	return false
}

// quantified writes any and all: out over a domain, else as a macro over a list.
func (t *translator) quantified(n *ast.BuiltinNode) string {
	members, ok := t.domain(n.Arguments[0])
	if !ok {
		return t.filtered(n, map[string]string{"any": "exists", "all": "all"}[n.Name])
	}
	kids := make([]string, len(members))
	for i, id := range members {
		t.member = id
		kids[i] = t.truth(n.Arguments[1].(*ast.PredicateNode).Node)
	}
	t.member = ""
	return "(" + strings.Join(kids, map[string]string{"any": " || ", "all": " && "}[n.Name]) + ")"
}

func (t *translator) filtered(n *ast.BuiltinNode, macro string) string {
	return t.words(n.Arguments[0]) + "." + macro + "(e, " + t.truth(n.Arguments[1].(*ast.PredicateNode).Node) + ")"
}

func (t *translator) domain(n ast.Node) ([]string, bool) {
	id, ok := n.(*ast.IdentifierNode)
	if !ok {
		return nil, false
	}
	v := t.frame.Vocabulary
	switch id.Value {
	case "regions":
		return v.IDs("region"), true
	case "stressors":
		return v.IDs("stressor"), true
	case "motions":
		return slices.DeleteFunc(slices.Clone(v.IDs("motion")), func(id string) bool { return !v.Motion(id).HasRange() }), true
	}
	return nil, false
}

func (t *translator) path(n ast.Node) string {
	switch n := n.(type) {
	case *ast.IdentifierNode:
		return n.Value
	case *ast.MemberNode:
		if name, ok := n.Property.(*ast.StringNode); ok {
			return t.path(n.Node) + "." + name.Value
		}
		return t.path(n.Node) + "." + t.member
	}
	panic(fmt.Sprintf("%T is no path", n))
}

func (t *translator) kind(path string) client.Kind {
	if p := t.frame.Table.Path(path); p != nil {
		return p.Kind
	}
	_, tag, _ := strings.Cut(path, ".")
	return kindOf(tag)
}

// variable numbers a path. Only numbers have two variables, one for each direction.
func (t *translator) variable(path string, top bool) string {
	v := variable{path: path, kind: t.kind(path)}
	v.top = top && v.kind == client.Number
	if root, tag, _ := strings.Cut(path, "."); root == "drill" || root == "lift" {
		v.path = tag
		return t.numbered(root[0], v)
	}
	return t.numbered('f', v)
}

func (t *translator) numbered(root byte, v variable) string {
	i := slices.Index(t.vars[root], v)
	if i < 0 {
		i = len(t.vars[root])
		t.vars[root] = append(t.vars[root], v)
	}
	if root == 'f' && !slices.Contains(t.reads, i) {
		t.reads = append(t.reads, i)
	}
	return string(root) + strconv.Itoa(i)
}
