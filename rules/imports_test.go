package rules_test

import (
	"encoding/json"
	"errors"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// layers of the project, the core first. A package belongs to the longest prefix that its path has, and imports packages of its
// own prefix and of the layers before; the prefixes of one layer know nothing of each other.
var layers = [][]string{
	{"catalog/authored"},
	{"catalog"},
	{"rules/client"},
	{"rules/predicate"},
	{"rules/internal/random"},
	{"rules/language", "rules/compile"},
	{"rules"},
	{"rules/analysis"},
	{"rules/selection"},
	{"proto", "testdata"},
	{"server"},
	{"cmd"},
}

// core packages answer: nothing that they import reaches a network, a file, a process, a database, a clock or chance.
var core = []string{"catalog", "rules"}

// forTests are packages below the core that only tests import.
var forTests = []string{"catalog/authored/schematest", "catalog/authored/authoredtest", "catalog/drilltest", "rules/internal/random"}

// pure is what core packages import from outside the project. time is there for its days and durations; see clocks.
var pure = []string{
	"bytes", "cmp", "crypto/sha256", "embed", "encoding/binary", "encoding/hex", "encoding/json", "errors", "fmt", "hash", "io", "io/fs",
	"iter",
	"maps", "math", "math/bits", "path", "reflect", "regexp", "slices", "strconv", "strings", "sync", "sync/atomic", "time", "unicode",
	"unicode/utf8", "unique",
	"github.com/expr-lang/expr", "github.com/expr-lang/expr/ast", "github.com/expr-lang/expr/checker", "github.com/expr-lang/expr/conf",
	"github.com/expr-lang/expr/file", "github.com/expr-lang/expr/parser", "github.com/expr-lang/expr/types", "github.com/expr-lang/expr/vm",
	"go.yaml.in/yaml/v3",
}

// besides is what a package of the core may import that others may not.
var besides = map[string][]string{
	"rules/analysis":  {"context"}, // lints and proposals end with their caller
	"rules/selection": {"context"}, // previews and cases end when nobody waits any more
}

// clocks are what reads a clock or the place that one is at, of packages that are pure but for that.
var clocks = map[string][]string{
	"time": {"Now", "Since", "Until", "After", "AfterFunc", "Tick", "NewTicker", "NewTimer", "Sleep", "Local", "LoadLocation"},
	"fmt":  {"Print", "Printf", "Println", "Scan", "Scanf", "Scanln"},
}

// within is whether a path is a prefix or lies under it.
func within(path, prefix string) bool { return path == prefix || strings.HasPrefix(path, prefix+"/") }

// layerOf is the layer of a package, and the prefix by which it belongs there; -1 where it belongs to none.
func layerOf(path string) (layer int, prefix string) {
	layer = -1
	for i, prefixes := range layers {
		for _, p := range prefixes {
			if within(path, p) && len(p) > len(prefix) {
				layer, prefix = i, p
			}
		}
	}
	return layer, prefix
}

type goPackage struct {
	ImportPath, Dir  string
	Imports, GoFiles []string
}

func allPackages(t *testing.T) []goPackage {
	out, err := exec.Command("go", "list", "-json=ImportPath,Dir,Imports,GoFiles", "drillwright/...").Output()
	require.NoError(t, err)
	var all []goPackage
	for d := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p goPackage
		if err := d.Decode(&p); errors.Is(err, io.EOF) {
			require.Greater(t, len(all), len(layers))
			return all
		} else {
			require.NoError(t, err)
		}
		p.ImportPath = strings.TrimPrefix(p.ImportPath, "drillwright/")
		all = append(all, p)
	}
}

// importing is what is wrong with an import; "" where nothing is.
func importing(from, imported string) string {
	to, ours := strings.CutPrefix(imported, "drillwright/")
	if !ours {
		isCore := slices.ContainsFunc(core, func(c string) bool { return within(from, c) }) &&
			!slices.ContainsFunc(forTests, func(p string) bool { return within(from, p) })
		if isCore && !slices.Contains(pure, imported) && !slices.Contains(besides[from], imported) {
			return "it is not known to keep the core pure"
		}
		return ""
	}
	layer, prefix := layerOf(from)
	below, other := layerOf(to)
	switch {
	case layer < 0 || below < 0:
		return "one of them belongs to no layer"
	case below > layer:
		return "that lies above it"
	case below == layer && prefix != other:
		return "that lies beside it"
	case slices.ContainsFunc(forTests, func(p string) bool { return within(to, p) }) && !slices.ContainsFunc(forTests,
		func(p string) bool { return within(from, p) }):
		return "that is for tests"
	}
	return ""
}

func TestImportsRunOneWay(t *testing.T) {
	for _, p := range allPackages(t) {
		layer, _ := layerOf(p.ImportPath)
		assert.GreaterOrEqual(t, layer, 0, "%s belongs to no layer", p.ImportPath)
		for _, imported := range p.Imports {
			assert.Empty(t, importing(p.ImportPath, imported), "%s imports %s", p.ImportPath, imported)
		}
	}
}

// TestImportsThatAreRefused: what would break the promises is seen, whatever it is called.
func TestImportsThatAreRefused(t *testing.T) {
	for _, c := range [][2]string{
		{"rules/selection", "net/http"}, {"rules", "os/exec"}, {"rules/client", "database/sql/driver"}, {"catalog", "modernc.org/sqlite"},
		{"rules/analysis", "math/rand/v2"}, {"rules/compile", "google.golang.org/protobuf/proto"}, {"catalog/authored", "os"},
		{"rules/language", "log/slog"},
		{"rules", "context"}, {"rules/compile", "drillwright/rules/language"}, {"rules", "drillwright/rules/analysis"},
		{"catalog/authored", "drillwright/catalog"},
		{"rules/selection", "drillwright/server"}, {"server", "drillwright/cmd/drillwright"}, {"rules/new", "drillwright/server/text"},
		{"rules", "drillwright/rules/internal/random"}, {"tools", "drillwright/rules"},
	} {
		assert.NotEmpty(t, importing(c[0], c[1]), "%s imports %s", c[0], c[1])
	}
}

// TestTheCoreReadsNoClock looks at the source: a package that is pure may have functions that aren't.
func TestTheCoreReadsNoClock(t *testing.T) {
	looked := 0
	for _, p := range allPackages(t) {
		if !slices.ContainsFunc(core, func(c string) bool { return within(p.ImportPath, c) }) {
			continue
		}
		for _, name := range p.GoFiles {
			fset := token.NewFileSet()
			file, err := parser.ParseFile(fset, filepath.Join(p.Dir, name), nil, parser.SkipObjectResolution)
			require.NoError(t, err)
			looked++
			for _, at := range clocksIn(file) {
				assert.Fail(t, "the core reads no clock and prints nothing", "%s", fset.Position(at))
			}
		}
	}
	assert.Greater(t, looked, 100)
	planted, err := parser.ParseFile(token.NewFileSet(), "planted.go", "package p\nimport clock \"time\"\nvar at = clock.Now()", 0)
	require.NoError(t, err)
	assert.Len(t, clocksIn(planted), 1)
}

// clocksIn are the places in a file where a clock is read, under whatever name its package was imported.
func clocksIn(file *ast.File) []token.Pos {
	names := map[string]string{}
	var found []token.Pos
	for _, i := range file.Imports {
		path, _ := strconv.Unquote(i.Path.Value)
		name := filepath.Base(path)
		if i.Name != nil {
			name = i.Name.Name
		}
		if _, ok := clocks[path]; !ok {
			continue
		}
		if names[name] = path; name == "." {
			found = append(found, i.Pos()) // nothing says where its names come from
		}
	}
	ast.Inspect(file, func(n ast.Node) bool {
		if s, ok := n.(*ast.SelectorExpr); ok {
			if x, ok := s.X.(*ast.Ident); ok && slices.Contains(clocks[names[x.Name]], s.Sel.Name) {
				found = append(found, s.Pos())
			}
		}
		return true
	})
	return found
}
