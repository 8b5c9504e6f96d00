package server_test

import (
	"errors"
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"
	"pgregory.net/rapid"

	"drillwright/catalog/authored"
	"drillwright/catalog/authored/schematest"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server"
)

func clientFiles(t *testing.T) []authored.File {
	paths, err := filepath.Glob(filepath.Join("..", "testdata", "clients", "*.yaml"))
	require.NoError(t, err)
	require.NotEmpty(t, paths)
	var files []authored.File
	for _, path := range paths {
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		files = append(files, authored.File{Name: filepath.Base(path), Data: data})
	}
	return files
}

func TestClientSchemaAcceptsTheExamples(t *testing.T) {
	schema := schematest.Compiled(t, server.ClientSchema(edition))
	for _, f := range clientFiles(t) {
		require.NoError(t, schema.Validate(schematest.Value(schematest.Parsed(t, f.Data))), f.Name)
	}
}

func TestClientSchemaRefuses(t *testing.T) {
	schema := schematest.Compiled(t, server.ClientSchema(edition))
	for name, text := range map[string]string{
		"unknown key":               "age: 44",
		"a word for a number":       "age_years: old",
		"a part of a year":          "age_years: 44.5",
		"too old":                   "age_years: 444",
		"a key without a value":     "kit:",
		"a word in lower case":      "training: novice",
		"the zero value":            "training: TRAINING_UNSPECIFIED",
		"both hands":                "dominant_side: BOTH",
		"others were YES":           "screening: {list: everyone, on: 2026-11-24, others: YES}",
		"unknown kit":               "kit: {has: [dumbell]}",
		"unknown motion":            "range_deg: {shoulder.flexon: {left: {value: 1, date: 2026-11-20}}}",
		"a motion without a range":  "range_deg: {shoulder.scapular_retraction: {left: {value: 1, date: 2026-11-20}}}",
		"the middle of a shoulder":  "range_deg: {shoulder.flexion: {midline: {value: 1, date: 2026-11-20}}}",
		"the left of the neck":      "pain: {neck: {left: {worst: 1, date: 2026-11-20}}}",
		"a measure without its day": "range_deg: {shoulder.flexion: {left: {value: 1}}}",
		"a day written otherwise":   "range_deg: {shoulder.flexion: {left: {value: 1, date: 20.11.2026}}}",
		"unknown drill":             "goal_lifts: [overhead-pres]",
		"unknown question":          "answers: {numb: {is: NO, date: 2026-11-24}}",
		"a complaint of no region":  "complaints: [{intensity: 4}]",
		"pain of 11":                "complaints: [{region: shoulder, intensity: 11}]",
		"a number in quotes":        `age_years: "44"`,
	} {
		require.Error(t, schema.Validate(schematest.Value(schematest.Parsed(t, []byte(text)))), name)
	}
}

// TestClientSchemaKnowsEachField: every key says what it is, and every text is a word of a list, a day or free.
func TestClientSchemaKnowsEachField(t *testing.T) {
	free := map[string]bool{"ref": true, "detail": true, "position": true, "id": true} // id: of an operation, in the platform's words
	var walk func(at string, s *authored.Schema)
	walk = func(at string, s *authored.Schema) {
		for key, p := range s.Properties {
			require.NotEmpty(t, p.Description, "%s.%s has no comment", at, key)
			require.True(t, len(p.Types) < 2 || free[key], "%s.%s: say in wordsOf (clientschema.go) whose word it is", at, key)
			require.True(t, p.Items == nil || len(p.Items.Types) < 2, "%s.%s: say in wordsOf (clientschema.go) whose words these are", at, key)
			require.False(t, p.Types != nil && p.Types[0] == "object" && len(p.Properties) == 0, "%s.%s: say in wordsOf (clientschema.go) whose words its keys are", at, key)
			walk(at+"."+key, p)
		}
		for name, d := range s.Defs {
			walk(name, d)
		}
	}
	walk("client", server.ClientSchema(edition))
}

var clientForm = regexp.MustCompile(`unknown |here stands|is not a number|neither true nor false|not a whole number|a number stands in quotes|has no value|the value is missing`)

// TestClientSchemaAndReaderAgree changes the example clients by chance: what reading them or asking with them refuses
// for keys, types and words the schema refuses, and what is answered the schema takes.
func TestClientSchemaAndReaderAgree(t *testing.T) {
	schema := schematest.Compiled(t, server.ClientSchema(edition))
	ask := v1.NewSelectionServiceClient(boot(t, server.Config{Edition: edition}))
	files := clientFiles(t)
	rapid.Check(t, func(r *rapid.T) {
		f := files[rapid.IntRange(0, len(files)-1).Draw(r, "file")]
		doc := schematest.Parsed(t, f.Data)
		change := schematest.Mutate(r, doc)
		data, err := yaml.Marshal(doc)
		require.NoError(t, err)
		c, err := server.ReadClient(authored.File{Name: f.Name, Data: data})
		if err == nil {
			if c.AsOf == "" {
				c.AsOf = "2026-11-24"
			}
			_, err = ask.Screen(within(t), &v1.ScreenRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf})
			err = c.Explain(err)
		}
		bySchema := schema.Validate(schematest.Value(schematest.Parsed(t, data)))
		if err == nil {
			require.NoError(r, bySchema, "%s: %s: it is answered", f.Name, change)
		}
		var problems authored.Problems
		errors.As(err, &problems)
		for _, p := range problems {
			if clientForm.MatchString(p.Message) {
				require.Error(r, bySchema, "%s: %s: the reader says %s", f.Name, change, p)
			}
		}
	})
}
