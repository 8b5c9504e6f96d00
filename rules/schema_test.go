package rules_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"regexp"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"
	"pgregory.net/rapid"

	"drillwright/catalog/authored"
	"drillwright/catalog/authored/schematest"
	"drillwright/rules"
)

func TestSchemaAcceptsTheEmbeddedFiles(t *testing.T) {
	e, err := rules.EmbeddedOnce()
	require.NoError(t, err)
	whole := schematest.Compiled(t, e.Schema(""))
	for _, f := range rules.EmbeddedFiles() {
		doc := schematest.Value(schematest.Parsed(t, f.Data))
		require.NoError(t, whole.Validate(doc), f.Name)
		for key := range doc.(map[string]any) {
			if len(doc.(map[string]any)) == 1 && key != "about" {
				require.NoError(t, schematest.Compiled(t, e.Schema(key)).Validate(doc), f.Name)
			}
		}
	}
}

func TestSchemaIsTheSameEveryTime(t *testing.T) {
	e, err := rules.EmbeddedOnce()
	require.NoError(t, err)
	for _, kind := range append(rules.Kinds(), "") {
		first, err := json.Marshal(e.Schema(kind))
		require.NoError(t, err)
		again, err := json.Marshal(e.Schema(kind))
		require.NoError(t, err)
		require.Equal(t, string(first), string(again))
	}
}

// TestSchemaSaysWhatEachKeyIs: every kind has a shape and every key a description.
func TestSchemaSaysWhatEachKeyIs(t *testing.T) {
	e, err := rules.EmbeddedOnce()
	require.NoError(t, err)
	file := e.Schema("")
	for _, kind := range rules.Kinds() {
		require.NotEqual(t, "[] ", fmt.Sprint(file.Properties[kind].Types, file.Properties[kind].Ref),
			"%s: say in shapes (schema.go) what it is read into", kind)
	}
	var walk func(at string, s *authored.Schema)
	walk = func(at string, s *authored.Schema) {
		if s == nil {
			return
		}
		words := 0
		for key, p := range s.Properties {
			if p.Description == "" {
				words++
			}
			walk(at+"."+key, p)
		}
		require.True(t, words == 0 || words == len(s.Properties), "%s: a key has no doc", at)
		walk(at+"[]", s.Items)
		for _, a := range s.AnyOf {
			walk(at, a)
		}
		for name, d := range s.Defs {
			walk(name, d)
		}
	}
	walk("file", file)
}

// ofForm is what the reader says of a key or a type, and of a word that is in no list of the edition.
var (
	ofForm = regexp.MustCompile(`unknown key|unknown kind of file|here stands|is not a number|neither true nor false|not a whole number|a number stands in quotes|the value is missing`)
	ofWord = regexp.MustCompile(`unknown (effect|urgency|scope|variable|kind of source|purpose|region|motion|plane|pattern|tool|station|kit|position|muscle|stressor|condition|change|sides|on|role|moment|unit|speed|hand) "[^"]`)
)

// TestSchemaAndReaderAgree changes embedded files by chance: what the reader refuses for its keys, types and words the
// schema refuses, and what the reader takes the schema takes.
func TestSchemaAndReaderAgree(t *testing.T) {
	e, err := rules.EmbeddedOnce()
	require.NoError(t, err)
	schema := schematest.Compiled(t, e.Schema(""))
	files := rules.EmbeddedFiles()
	rapid.Check(t, func(t *rapid.T) {
		at := rapid.IntRange(0, len(files)-1).Draw(t, "file")
		doc := schematest.Parsed(t, files[at].Data)
		change := schematest.Mutate(t, doc)
		data, err := yaml.Marshal(doc)
		require.NoError(t, err)
		require.NoError(t, disagreement(e, schema, at, data, change), "%s: %s", files[at].Name, change)
	})
}

// disagreement reads the edition with one file changed, both ways. A schema can't see that a word is gone from the
// vocabulary, nor that every drill which uses a block says it otherwise; and an id may be the word true.
func disagreement(e *rules.Edition, schema *jsonschema.Schema, at int, data []byte, change string) error {
	draft := rules.EmbeddedFiles()
	draft[at].Data = data
	_, byReader := e.Redraft(draft)
	var doc yaml.Node
	if err := yaml.Unmarshal(data, &doc); err != nil {
		return err
	}
	bySchema := schema.Validate(schematest.Value(&doc))
	odd := strings.Contains(change, ".blocks") || strings.HasPrefix(change, "yes") && strings.HasSuffix(change, ".id")
	if byReader == nil && bySchema != nil && !odd {
		return fmt.Errorf("the reader takes what the schema refuses: %w", bySchema)
	}
	var problems authored.Problems
	errors.As(byReader, &problems)
	for _, p := range problems {
		own := p.At.Source != nil && p.At.Source.Name == draft[at].Name
		word := ofWord.MatchString(p.Message) && !strings.Contains(change, ".vocabulary")
		if bySchema == nil && own && (ofForm.MatchString(p.Message) || word) {
			return fmt.Errorf("the schema takes what the reader refuses: %s", p)
		}
	}
	return nil
}

// TestSchemaRefuses: a file each, with one mistake.
func TestSchemaRefuses(t *testing.T) {
	e, err := rules.EmbeddedOnce()
	require.NoError(t, err)
	schema := schematest.Compiled(t, e.Schema(""))
	const rule = `rules: [{id: a-rule, effect: favour, when: "drill.pull", because: "A pull.", points: 3, source: {kind: judged}}]`
	require.NoError(t, schema.Validate(schematest.Value(schematest.Parsed(t, []byte(rule)))))
	for name, text := range map[string]string{
		"unknown kind":            `rule: []`,
		"a mapping for a list":    `rules: {}`,
		"nothing":                 `rules:`,
		"unknown key":             strings.Replace(rule, "when", "wenn", 1),
		"unknown effect":          strings.Replace(rule, "favour", "favor", 1),
		"an id with blanks":       strings.Replace(rule, "a-rule", "a rule", 1),
		"points in quotes":        strings.Replace(rule, "3", `"3"`, 1),
		"points out of range":     strings.Replace(rule, "3", "300", 1),
		"a field of another":      strings.Replace(rule, "favour", "bar", 1),
		"no points":               strings.Replace(rule, "points: 3, ", "", 1),
		"no source":               strings.Replace(rule, ", source: {kind: judged}", "", 1),
		"unknown kind of source":  strings.Replace(rule, "judged", "guessed", 1),
		"unknown region":          `plans: [{id: a-plan, minutes: 20, regions: [sholder], slots: [{purpose: train, where: "true"}], source: {kind: judged}}]`,
		"no slots":                `plans: [{id: a-plan, minutes: 20, slots: [], source: {kind: judged}}]`,
		"unknown muscle":          `drills: [{id: a-drill, use: [a-block], muscles: {prime: [bicep]}}]`,
		"unknown motion":          `drills: [{id: a-drill, use: [a-block], arcs: {shoulder.flexon: {to: 90}}}]`,
		"an arc without an end":   `drills: [{id: a-drill, use: [a-block], arcs: {shoulder.flexion: {from: 10}}}]`,
		"a grade of 4":            `drills: [{id: a-drill, use: [a-block], stressors: {top: {overhead_end_range: 4}}}]`,
		"unknown moment":          `drills: [{id: a-drill, use: [a-block], stressors: {lockout: {overhead_end_range: 3}}}]`,
		"a drill that lacks much": `drills: [{id: a-drill, name: A drill}]`,
		"a variant of no change":  `drills: [{id: a-drill, name: A drill, variant_of: push-up}]`,
		"two changes at once":     `rules: [{id: a-rule, effect: adjust, when: "drill.pull", because: "A pull.", adjust: {sets: {add: 1, cap: 2}}, source: {kind: judged}}]`,
		"three ends":              `doses: [{id: a-dose, when: "true", because: "Light.", dose: {sets: 2, reps: [1, 2, 3], effort: [4, 5]}, source: {kind: judged}}]`,
		"unknown variable":        `rules: [{id: a-rule, effect: adjust, when: "drill.pull", because: "A pull.", adjust: {set: {add: 1}}, source: {kind: judged}}]`,
	} {
		require.Error(t, schema.Validate(schematest.Value(schematest.Parsed(t, []byte(text)))), name)
	}
}
