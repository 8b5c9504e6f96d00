package language

import (
	"slices"
	"strings"

	"github.com/expr-lang/expr/ast"
)

// domains are what any and all may be unrolled over.
var domains = []string{"motions", "regions", "stressors"}

// witness is the word by which a text names the member of a domain that made a rule hold.
var witness = map[string]string{"motions": "motion", "regions": "region", "stressors": "stressor"}

// operators of the dialect between two parts.
var operators = []string{"and", "&&", "or", "||", "==", "!=", "<", "<=", ">", ">=", "in", "+", "-", "*", "/"}

// around is what a part stands in.
type around struct {
	predicates, choices int
	list                bool // any, all or count over a list rather than a domain
}

// allow is the first pass: it reports everything that the dialect doesn't have. It is a list of what may
// stand in a rule; everything else may not.
func (r *resolver) allow(n ast.Node) bool {
	before := r.report.Count()
	r.allowNode(n, around{})
	return r.report.Count() == before
}

func (r *resolver) allowNode(n ast.Node, in around) {
	goOn := true
	switch n := n.(type) {
	case *ast.IdentifierNode, *ast.IntegerNode, *ast.FloatNode, *ast.StringNode, *ast.BoolNode:
	case *ast.PointerNode:
		if n.Name != "" || in.predicates == 0 {
			r.suggestAt(n, "say any(motions, …) around it, or name the member", "# stands for the member under any, all or count, and only there")
		}
	case *ast.UnaryNode:
		if !slices.Contains([]string{"not", "!", "-"}, n.Operator) {
			r.suggestAt(n, "leave it out", "%q before a number is not in the rule language", n.Operator)
		}
	case *ast.BinaryNode:
		goOn = r.allowBinary(n)
	case *ast.MemberNode:
		goOn = r.allowMember(n)
	case *ast.ConditionalNode:
		if in.choices++; in.choices > maxChoices {
			r.suggestAt(n, "make several rules of it", "? : stands more than %d deep within another", maxChoices)
			goOn = false
		}
	case *ast.ArrayNode:
		goOn = r.allowList(n)
	case *ast.CallNode:
		goOn = r.allowCall(n, in)
	case *ast.PredicateNode:
		in.predicates++
	case *ast.BuiltinNode:
		goOn, in.list = r.allowBuiltin(n, in), len(n.Arguments) > 0 && domain(n) == ""
	case *ast.SliceNode:
		r.suggest(n.Location().From, "ask whether a word is in it: 'word' in list", "no part is taken out of a list")
		return
	default:
		r.suggestAt(n, "write a comparison, or a path that is a yes or no", "this is not in the rule language")
		return
	}
	if !goOn {
		return
	}
	for _, c := range children(n) {
		r.allowNode(c, in)
	}
}

func (r *resolver) allowBuiltin(n *ast.BuiltinNode, in around) bool {
	switch {
	case !slices.Contains([]string{"any", "all", "count"}, n.Name):
		r.suggestAt(n, "functions: any, all, count, measured", "%s is not in the rule language", n.Name)
	case len(n.Arguments) != 2:
		r.suggestAt(n, "write "+n.Name+"(list, # in ['a', 'b'])", "%s doesn't say what must hold of the members", n.Name)
	case in.predicates > 0:
		r.suggestAt(n, "hold one list against another with any(list, # in other)",
			"%s stands inside another any, all or count; they are not nested", n.Name)
	case !hasPointer(n.Arguments[1]):
		r.suggestAt(n.Arguments[1], "name the member with #, or leave "+n.Name+" out", "what stands under %s is the same for every member",
			n.Name)
	default:
		return true
	}
	return false
}

func hasPointer(n ast.Node) bool {
	_, found := n.(*ast.PointerNode)
	return found || slices.ContainsFunc(children(n), hasPointer)
}

func (r *resolver) allowCall(n *ast.CallNode, in around) bool {
	callee, ok := n.Callee.(*ast.IdentifierNode)
	method, isMethod := n.Callee.(*ast.MemberNode)
	switch {
	case isMethod:
		r.suggestAt(method.Property, "a word is looked for with 'word' in list", "paths have no functions")
	case !ok || callee.Value != "measured":
		r.suggestAt(n, "functions: any, all, count, measured", "this function is not in the rule language")
	case len(n.Arguments) != 1:
		r.suggestAt(n, "write measured(client.range.knee.flexion)", "measured asks about one path")
	case in.choices > 0: // there it has no sign, so nobody could say that it makes no drill look better
		r.suggestAt(n, "make two rules of it", "measured(…) stands inside ? :")
	case in.list:
		r.suggestAt(n, "join it with and, outside", "measured(…) asks nothing of the member of a list")
	default:
		return true
	}
	return false
}

func (r *resolver) allowList(n *ast.ArrayNode) bool {
	for _, item := range n.Nodes {
		if _, ok := item.(*ast.StringNode); !ok {
			r.suggestAt(n, "write ['a', 'b']; several numbers are compared one by one, with or", "a list holds words in quotes")
			return false
		}
	}
	if len(n.Nodes) == 0 {
		r.suggest(n.Location().From, "write ['a', 'b']", "the list is empty; nothing is in it")
	}
	if len(n.Nodes) > maxListed {
		r.suggestAt(n, "make several rules of it", "the list has %d words; the most is %d", len(n.Nodes), maxListed)
	}
	return true
}

func (r *resolver) allowBinary(n *ast.BinaryNode) bool {
	if !slices.Contains(operators, n.Operator) {
		suggestion := "words are compared as a whole: == 'word', or in ['a', 'b']"
		if n.Operator == "contains" {
			suggestion = "write 'word' in list"
		}
		r.suggest(n.Location().From, suggestion, "%q is not in the rule language", n.Operator)
		return true
	}
	compares := slices.Contains([]string{"==", "!=", "<", "<=", ">", ">=", "in"}, n.Operator)
	if compares && !readsPath(n.Left) && !readsPath(n.Right) {
		r.suggest(n.Location().From, "name a path, or write true or false", "both sides are written out, so this is always the same")
		return false
	}
	if _, second := inRow(n); second != nil {
		var parts []string
		for _, c := range row(n) {
			parts = append(parts, r.slice(c))
		}
		meant := strings.Join(parts, " and ")
		r.fix(second.Location().From, n, meant, "write "+Short(meant), "two comparisons in a row")
		return false
	}
	return true
}

// readsPath is false of what is written out: numbers, words, and what is made of them.
func readsPath(n ast.Node) bool {
	switch n.(type) {
	case *ast.IntegerNode, *ast.FloatNode, *ast.StringNode, *ast.BoolNode:
		return false
	case *ast.UnaryNode, *ast.BinaryNode, *ast.ConditionalNode, *ast.ArrayNode:
		return slices.ContainsFunc(children(n), readsPath)
	}
	return true
}

// inRow is the first two comparisons in a row; nil when there are none. The parser makes a < b and b < c of
// a < b < c, with one b.
func inRow(n *ast.BinaryNode) (first, second *ast.BinaryNode) {
	left, ok := n.Left.(*ast.BinaryNode)
	right, also := n.Right.(*ast.BinaryNode)
	if n.Operator != "&&" || !ok || !also {
		return nil, nil
	}
	if left.Right == right.Left {
		return left, right
	}
	if last, ok := left.Right.(*ast.BinaryNode); ok && left.Operator == "&&" && last.Right == right.Left {
		return inRow(left)
	}
	return nil, nil
}

// row lists the comparisons that the parser made of some in a row.
func row(n ast.Node) []ast.Node {
	if both, ok := n.(*ast.BinaryNode); ok && both.Operator == "&&" {
		return append(row(both.Left), row(both.Right)...)
	}
	return []ast.Node{n}
}

func (r *resolver) allowMember(n *ast.MemberNode) bool {
	if n.Optional || n.Method {
		r.suggestAt(n.Property, "write a path with points", "this is not in the rule language")
		return false
	}
	at := n.Property.Location().From
	runes := r.letters()
	switch property := n.Property.(type) {
	case *ast.StringNode:
		if at < len(runes) && (runes[at] == '\'' || runes[at] == '"') {
			r.suggest(at, "write the path with points", "a word in quotes stands in square brackets")
			return false
		}
	case *ast.PointerNode:
	case *ast.IdentifierNode:
		if property.Value == r.witness {
			return true
		}
		r.suggest(at, "write [#] under any(motions, …)", "in a condition only # may stand in square brackets")
		return false
	default:
		r.suggest(n.Location().From, "write the path with points, or [#] under any", "only # may stand in square brackets")
		return false
	}
	return true
}
