package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"drillwright/catalog/authored"
	"drillwright/rules"
)

const manual = "../../rules/README.md"

// manualBlock is a fenced block of the manual, with the HTML comment above it if there is one.
var manualBlock = regexp.MustCompile("(?ms)^(?:<!-- ([^\n]*) -->\n)?```(\\w+)( fails)?\n(.*?)^```\n")

// TestManual does what the rule-writer's manual says, in its order, in a folder of its own:
//
//	sh              is run; "sh fails" must fail. Beside drillwright there is the project's testdata, and at 127.0.0.1:7410 a
//	                server with a store of its own. REVISION and DIGEST are the base and the
//	                digest that were printed last.
//	text            is what the commands of the block above print. … stands for anything.
//	yaml            has a comment above it: "file: F" writes the file; "in: F" puts one item in place of the one with its
//	                id; "as in: F" stands in the file word for word.
//
// With -update, texts that differ are written anew.
func TestManual(t *testing.T) {
	if testing.Short() {
		t.Skip("starts the program, which reads the edition, many times over")
	}
	whole, err := os.ReadFile(manual)
	require.NoError(t, err)
	dir := workplace(t)
	address, stop, err := bootServer("--store", filepath.Join(dir, "rulebook.db"))
	require.NoError(t, err)
	defer func() { assert.NoError(t, stop()) }()
	seen := placeholders{}
	printed, from, anew := "", 0, ""
	for _, at := range manualBlock.FindAllStringSubmatchIndex(string(whole), -1) {
		group := func(i int) string {
			if at[2*i] < 0 {
				return ""
			}
			return string(whole[at[2*i]:at[2*i+1]])
		}
		comment, kind, fails, body := group(1), group(2), group(3) != "", group(4)
		switch kind {
		case "sh":
			printed = ""
			for line := range strings.Lines(body) {
				out, err := inWorkplace(dir, seen.fill(strings.ReplaceAll(line, "127.0.0.1:7410", address)))
				seen.read(out)
				require.Equal(t, fails, err != nil, "%s%s", line, out)
				printed += out
			}
		case "text":
			if !says(body, printed) && *update {
				anew += string(whole[from:at[8]]) + digest.ReplaceAllString(strings.ReplaceAll(printed, address, "127.0.0.1:7410"), "…")
				from = at[9]
			} else {
				assert.True(t, says(body, printed), "the manual says\n%s\nand drillwright\n%s", body, printed)
			}
		case "yaml":
			put(t, dir, comment, body)
		default:
			t.Errorf("a block of %s is no part of the manual", kind)
		}
	}
	out, err := inWorkplace(dir, "drillwright book check my-club")
	require.NoError(t, err, out)
	if *update && anew != "" {
		require.NoError(t, os.WriteFile(manual, []byte(anew+string(whole[from:])), 0o644))
	}
}

// placeholders are what stands for words of the manual that differ each time.
type placeholders map[string]string

// printedAs is how what stands for each is printed.
var printedAs = map[string]*regexp.Regexp{
	"REVISION": regexp.MustCompile(`(?:--base |it is live\.\n  revision +|Live now\n  revision +)([0-9a-f]{32})`),
	"DIGEST":   regexp.MustCompile(`--preview ([0-9a-f]{32})`),
}

func (p placeholders) read(printed string) {
	for word, as := range printedAs {
		if found := as.FindAllStringSubmatch(printed, -1); found != nil {
			p[word] = found[len(found)-1][1]
		}
	}
}

func (p placeholders) fill(line string) string {
	for word, means := range p {
		line = strings.ReplaceAll(line, word, means)
	}
	return line
}

// workplace is a folder with the program and what the manual copies from.
func workplace(t *testing.T) string {
	dir := t.TempDir()
	program, err := os.Executable() // run under the name drillwright it is the program: see TestMain
	require.NoError(t, err)
	require.NoError(t, os.Symlink(program, filepath.Join(dir, "drillwright")))
	from, err := filepath.Abs("../../testdata")
	require.NoError(t, err)
	require.NoError(t, os.Symlink(from, filepath.Join(dir, "testdata")))
	return dir
}

func inWorkplace(dir, line string) (string, error) {
	cmd := exec.CommandContext(context.Background(), "bash", "-c", line)
	cmd.Dir, cmd.Env = dir, append(os.Environ(), "PATH="+dir+":"+os.Getenv("PATH"))
	out, err := cmd.CombinedOutput()
	return string(out), err
}

// says is whether a text of the manual is what was printed.
func says(text, printed string) bool {
	pattern := strings.ReplaceAll(regexp.QuoteMeta(strings.TrimSpace(text)), "…", `[\s\S]*?`)
	return regexp.MustCompile(`^` + pattern + `$`).MatchString(strings.TrimSpace(printed))
}

// put does with a snippet what the comment above it says.
func put(t *testing.T, dir, comment, body string) {
	what, name, ok := strings.Cut(comment, ": ")
	require.True(t, ok, "what is this for?\n%s", body)
	path := filepath.Join(dir, name)
	if what == "file" {
		require.NoError(t, os.WriteFile(path, []byte(body), 0o644))
		return
	}
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	switch what {
	case "as in":
		require.Contains(t, string(text), body, "%s has it otherwise", name)
	case "in":
		head, _, _ := strings.Cut(body, "\n")
		old := regexp.MustCompile(`(?m)^` + regexp.QuoteMeta(head) + `\n(    .*\n)*`)
		require.Len(t, old.FindAll(text, -1), 1, "%s in %s", head, name)
		require.NoError(t, os.WriteFile(path, old.ReplaceAllLiteral(text, []byte(body)), 0o644))
	default:
		t.Errorf("what is %q?", comment)
	}
}

// tableRow is a row of a table of the manual.
var tableRow = regexp.MustCompile(`(?m)^\| (.+) \| (.+) \|$`)

// table is the table under an HTML comment, and where it stands.
func table(t *testing.T, whole, comment string) (rows [][]string, from, to int) {
	_, rest, ok := strings.Cut(whole, "<!-- "+comment+" -->\n")
	require.True(t, ok, "no table under %q", comment)
	body, _, _ := strings.Cut(rest, "\n\n")
	from = len(whole) - len(rest)
	return tableRow.FindAllStringSubmatch(body, -1)[1:], from, from + len(body)
}

// TestManualMistakes reads each condition of the table of mistakes as a bar. With -update the answers are written anew.
func TestManualMistakes(t *testing.T) {
	text, err := os.ReadFile(manual)
	require.NoError(t, err)
	whole := string(text)
	e, err := rules.Embedded()
	require.NoError(t, err)
	rows, from, to := table(t, whole, "mistakes")
	require.GreaterOrEqual(t, len(rows), 10)
	var conditions []string
	for _, row := range rows {
		conditions = append(conditions, strings.Trim(row[1], "`"))
	}
	anew := whole[from:to]
	for i, said := range saidOf(e, conditions) {
		require.NotEmpty(t, said, "nothing is wrong with %s", conditions[i])
		anew = strings.Replace(anew, rows[i][0], fmt.Sprintf("| %s | %s |", rows[i][1], said), 1)
		if !*update {
			assert.Equal(t, said, rows[i][2], conditions[i])
		}
	}
	if *update {
		require.NoError(t, os.WriteFile(manual, []byte(whole[:from]+anew+whole[to:]), 0o644))
	}
}

// code is what stands between backticks.
var code = regexp.MustCompile("`([^`]+)`")

// TestManualConditions reads each condition of the table of the language, and looks each path of the table of paths up.
func TestManualConditions(t *testing.T) {
	whole, err := os.ReadFile(manual)
	require.NoError(t, err)
	e, err := rules.Embedded()
	require.NoError(t, err)
	conditions := codeIn(t, string(whole), "conditions")
	for i, said := range saidOf(e, conditions) {
		assert.Empty(t, said, conditions[i])
	}
	word := strings.NewReplacer("MOTION", "shoulder.flexion", "REGION", "shoulder", "STRESSOR", "overhead_hang", "QUESTION", "cancer_history",
		"TEST", "push_up_test", "CONDITION", "ankle_sprain", "PROCEDURE", "cuff_repair")
	paths := codeIn(t, word.Replace(string(whole)), "paths")
	for i, said := range saidOf(e, paths) { // most are no condition by themselves
		assert.NotRegexp(t, "unknown path|beginning of a path", said, paths[i])
	}
}

// codeIn is all code in the first cells of a table, as YAML writes an expression.
func codeIn(t *testing.T, whole, comment string) []string {
	var all []string
	rows, _, _ := table(t, whole, comment)
	for _, row := range rows {
		for _, c := range code.FindAllStringSubmatch(row[1], -1) {
			all = append(all, `"`+c[1]+`"`)
		}
	}
	require.GreaterOrEqual(t, len(all), 10)
	return all
}

// saidOf reads each condition as that of a bar, and is what is said of each; "" of one without a mistake.
func saidOf(e *rules.Edition, conditions []string) []string {
	const lines = 6 // of a rule
	text := "rules:\n"
	for i, condition := range conditions {
		text += fmt.Sprintf("  - id: try-%d\n    effect: bar\n    when: %s\n    because: \"No.\"\n    untested: \"Not measured.\"\n    source: "+
			"{kind: judged}\n", i, condition)
	}
	_, err := e.Redraft([]authored.File{{Name: "try.yaml", Data: []byte(text)}})
	said := make([]string, len(conditions))
	var problems authored.Problems
	errors.As(err, &problems)
	for _, p := range problems {
		if of := &said[(p.At.Line-2)/lines]; *of == "" {
			*of = p.Sentence()
		} else {
			*of += "; and " + p.Sentence()
		}
	}
	return said
}
