package server_test

import (
	"errors"
	"fmt"
	"regexp"
	"testing"

	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"
	"pgregory.net/rapid"

	"drillwright/catalog/authored"
	"drillwright/catalog/authored/schematest"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server"
	"drillwright/server/clientfile"
	"drillwright/testdata/clients"
)

func TestExampleClientsAreRead(t *testing.T) {
	ask := v1.NewSelectionServiceClient(boot(t, server.Config{Edition: edition}))
	for _, f := range clients.Files() {
		c, err := clientfile.Read(f)
		require.NoError(t, err)
		_, err = ask.Screen(within(t), &v1.ScreenRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf})
		require.NoError(t, c.Explain(err))
	}
}

// What the server finds wrong with a profile is shown at its place in the file.
func TestViolationsStandInTheFile(t *testing.T) {
	c, err := clientfile.Read(authored.File{Name: "c.yaml", Data: []byte(`age_years: 44
range_deg:
  shoulder.flexion: {left: {value: 500, date: 2026-11-20}, right: {value: 120}}
  neck.flexion: {left: {value: 40, date: 2026-11-20}}
  shoulder.flexon: {left: {value: 40, date: 2026-11-20}}
pain:
  shoulder:
    left: {rest: 1, date: 2026-12-01}
complaints:
  - region: sholder
    intensity: 12
as_of: 2026-11-24
`)})
	require.NoError(t, err)
	ask := v1.NewSelectionServiceClient(boot(t, server.Config{Edition: edition}))
	_, err = ask.Substitute(within(t), &v1.SubstituteRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf, Lift: "push-up",
		KitTaken: []string{"bnd"}})
	want := []string{
		`c.yaml:3:36: 500° is more than shoulder flexion can be; at most 200°`,
		`c.yaml:3:60: date: it is missing`,
		`c.yaml:4:18: neck flexion has no left and right; write it under midline, once`,
		`c.yaml:5:3: unknown motion "shoulder.flexon"; did you mean "shoulder.flexion"?`,
		`c.yaml:8:27: 2026-12-01 is after the day of the request, 2026-11-24`,
		`c.yaml:10:13: unknown region "sholder"; did you mean "shoulder"?`,
		`c.yaml:11:16: must be greater than or equal to 0 and less than or equal to 10`,
		`request: kit_taken[0]: unknown kit "bnd"; did you mean "band"?`,
	}
	var problems authored.Problems
	require.True(t, errors.As(c.Explain(err), &problems), "%v", err)
	var got []string
	for _, p := range problems {
		got = append(got, fmt.Sprintf("%v: %s", p.At, p.Sentence()))
	}
	require.Equal(t, want, got)
}

var clientForm = regexp.MustCompile(`unknown |here stands|is not a number|neither true nor false|not a whole number|` +
	`a number stands in quotes|has no value|the value is missing`)

// TestClientSchemaAndReaderAgree changes the example clients by chance: what reading them or asking with them refuses
// for keys, types and words the schema refuses, and what is answered the schema takes.
func TestClientSchemaAndReaderAgree(t *testing.T) {
	schema := schematest.Compiled(t, clientfile.Schema(edition))
	ask := v1.NewSelectionServiceClient(boot(t, server.Config{Edition: edition}))
	files := clients.Files()
	rapid.Check(t, func(r *rapid.T) {
		f := files[rapid.IntRange(0, len(files)-1).Draw(r, "file")]
		doc := schematest.Parsed(t, f.Data)
		change := schematest.Mutate(r, doc)
		data, err := yaml.Marshal(doc)
		require.NoError(t, err)
		c, err := clientfile.Read(authored.File{Name: f.Name, Data: data})
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
