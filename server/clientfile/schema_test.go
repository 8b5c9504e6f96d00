package clientfile_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/catalog/authored"
	"drillwright/catalog/authored/schematest"
	"drillwright/rules"
	"drillwright/server/clientfile"
	"drillwright/testdata/clients"
)

func schema(t *testing.T) *authored.Schema {
	e, err := rules.Embedded()
	require.NoError(t, err)
	return clientfile.Schema(e)
}

func TestClientSchemaAcceptsTheExamples(t *testing.T) {
	compiled := schematest.Compiled(t, schema(t))
	for _, f := range clients.Files() {
		require.NoError(t, compiled.Validate(schematest.Value(schematest.Parsed(t, f.Data))), f.Name)
	}
}

func TestClientSchemaRefuses(t *testing.T) {
	compiled := schematest.Compiled(t, schema(t))
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
		require.Error(t, compiled.Validate(schematest.Value(schematest.Parsed(t, []byte(text)))), name)
	}
}

// TestClientSchemaKnowsEachField: every key says what it is, and every text is a word of a list, a day or free.
func TestClientSchemaKnowsEachField(t *testing.T) {
	free := map[string]bool{"ref": true, "detail": true, "position": true, "id": true} // id: of an operation, in the platform's words
	var walk func(at string, s *authored.Schema)
	walk = func(at string, s *authored.Schema) {
		for key, p := range s.Properties {
			require.NotEmpty(t, p.Description, "%s.%s has no comment", at, key)
			require.True(t, len(p.Types) < 2 || free[key], "%s.%s: say in wordsOf (schema.go) whose word it is", at, key)
			require.True(t, p.Items == nil || len(p.Items.Types) < 2, "%s.%s: say in wordsOf (schema.go) whose words these are", at, key)
			require.False(t, p.Types != nil && p.Types[0] == "object" && len(p.Properties) == 0,
				"%s.%s: say in wordsOf (schema.go) whose words its keys are", at, key)
			walk(at+"."+key, p)
		}
		for name, d := range s.Defs {
			walk(name, d)
		}
	}
	walk("client", schema(t))
}
