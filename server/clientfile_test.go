package server_test

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules/client"
	"drillwright/server"
)

func read(text string) (*server.ClientFile, error) {
	return server.ReadClient(authored.File{Name: "c.yaml", Data: []byte(text)})
}

func TestClientFileIsAProfile(t *testing.T) {
	c, err := read(`ref: m-0412
age_years: 44
training: NOVICE
kit: {has: [dumbbell, "bench"]}
conditions: {known: [{id: osteoporosis, told_by: CLINICIAN, since: 2025-03-01}]}
surgeries: {}
clearances: []
range_deg:
  shoulder.flexion: {left: {value: 135, date: 2026-11-20, by: SAME_MEASURER}, right: {value: 168.5, date: "2026-11-20"}}
pain: {shoulder: {left: {rest: 0, wakes_at_night: false, date: 2026-11-22}}}
screening: {list: everyone, on: 2026-11-24, others: NO, also: [shoulder]}
complaints:
  - {region: shoulder, side: LEFT, intensity: 6, moment: BOTTOM, kind: ACHE, onset: GRADUAL, days: 20}
as_of: 2026-11-24
`)
	require.NoError(t, err)
	require.Equal(t, "2026-11-24", c.AsOf)
	require.Len(t, c.Complaints, 1)
	require.Equal(t, v1.Moment_BOTTOM, c.Complaints[0].GetMoment())
	p := c.Profile
	require.Equal(t, []string{"dumbbell", "bench"}, p.GetKit().GetHas())
	require.Equal(t, "2025-03-01", p.GetConditions().GetKnown()[0].GetSince())
	require.NotNil(t, p.Surgeries, "an empty mapping was asked about")
	require.Nil(t, p.Medicines, "an absent key was not")
	require.Equal(t, 168.5, p.GetRangeDeg()["shoulder.flexion"].GetRight().GetValue())
	require.Equal(t, 0.0, *p.GetPain()["shoulder"].GetLeft().Rest)
	require.False(t, *p.GetPain()["shoulder"].GetLeft().WakesAtNight)
	require.Nil(t, p.GetPain()["shoulder"].GetLeft().Worst)
	require.Equal(t, v1.Reply_NO, p.GetScreening().GetOthers())
	require.Equal(t, "2026-11-24", p.GetScreening().GetOn())
}

func TestExampleClientsAreRead(t *testing.T) {
	paths, err := filepath.Glob(filepath.Join("..", "testdata", "clients", "*.yaml"))
	require.NoError(t, err)
	require.NotEmpty(t, paths)
	conn := boot(t, server.Config{Edition: edition})
	for _, path := range paths {
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		c, err := server.ReadClient(authored.File{Name: filepath.Base(path), Data: data})
		require.NoError(t, err)
		_, err = v1.NewSelectionServiceClient(conn).Screen(within(t), &v1.ScreenRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf})
		require.NoError(t, c.Explain(err))
	}
}

func TestMistakesOfAClientFile(t *testing.T) {
	for name, c := range map[string]struct{ text, want string }{
		"unknown key":        {"age_year: 44\n", `c.yaml:1:1: unknown key "age_year"; did you mean "age_years"?`},
		"unknown inner key":  {"kit: {hass: [band]}\n", `c.yaml:1:7: unknown key "hass"; did you mean "has"?`},
		"wrong type":         {"age_years: old\n", `c.yaml:1:12: "old" is not a number`},
		"a part of a year":   {"age_years: 44.5\n", `c.yaml:1:12: "44.5" is not a whole number`},
		"a huge number":      {"age_years: 9e99\n", `c.yaml:1:12: 9e99 is too great`},
		"word in lower case": {"training: novice\n", `c.yaml:1:11: unknown word "novice"; did you mean "NOVICE"?`},
		"zero value":         {"training: TRAINING_UNSPECIFIED\n", `c.yaml:1:11: unknown word "TRAINING_UNSPECIFIED"; known: NOVICE, INTERMEDIATE, ADVANCED`},
		"word as number":     {"training: 1\n", `c.yaml:1:11: unknown word "1"; known: NOVICE, INTERMEDIATE, ADVANCED`},
		"list for mapping":   {"kit: [band]\n", `c.yaml:1:6: here stands a list; it must be a mapping with the keys has`},
		"word for list":      {"disliked: push-up\n", `c.yaml:1:11: here stands "push-up"; it must be a list; write [a, b] or one item a line with a dash`},
		"mapping for word":   {"ref: {a: b}\n", `c.yaml:1:6: here stands keys with values; it must be a text`},
		"list for map":       {"pain: [1]\n", `c.yaml:1:7: here stands a list; it must be a mapping of ids to values`},
		"mapping for enum":   {"sex: {}\n", `c.yaml:1:6: here stands a mapping; it must be a word; known: FEMALE, MALE`},
		"no value":           {"conditions:\n", `c.yaml:1:1: conditions has no value; leave the key out if it isn't known, or write {} or [] for none`},
		"yes for true":       {"supervised: yes\n", `c.yaml:1:13: yes stands where true or false must be; write true`},
		"key twice":          {"ref: a\nref: b\n", `c.yaml:2:1: key "ref" stands twice`},
		"empty":              {"", `c.yaml:1:1: the file is empty`},
		"only a comment":     {"# nothing\n", `c.yaml`},
		"a list":             {"- 1\n", `c.yaml:1:1: a file begins with a key that says what is in it; this one begins with a list`},
		"binary":             {"\x00\x01\xff\xfe", `c.yaml:1:3: this letter can't be read; save the file as UTF-8`},
		"anchors":            {"ref: &a b\n", `c.yaml:1:6: & gives a value a name, which is not read`},
		"10 MB":              {"ref: " + strings.Repeat("a", 10<<20), `c.yaml:1:1: the file has 10485765 bytes`},
		"deep nesting":       {"ref: " + strings.Repeat("[", 200_000), `c.yaml:1:`},
	} {
		_, err := read(c.text)
		var problems authored.Problems
		require.True(t, errors.As(err, &problems), "%s: %v", name, err)
		require.Contains(t, problems[0].String(), c.want, name)
	}
}

func TestAllMistakesAtOnceWithCaret(t *testing.T) {
	_, err := read("age_year: 44\ntraining: novice\nkit: {has: [band], more: 1}\n")
	require.Equal(t, `c.yaml:1:1: unknown key "age_year"; did you mean "age_years"?
  1 | age_year: 44
    | ^
c.yaml:2:11: unknown word "novice"; did you mean "NOVICE"?
  2 | training: novice
    |           ^
c.yaml:3:20: unknown key "more"; known: has
  3 | kit: {has: [band], more: 1}
    |                    ^`, err.Error())
}

// What the server finds wrong with a profile is shown at its place in the file.
func TestViolationsStandInTheFile(t *testing.T) {
	c, err := read(`age_years: 44
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
`)
	require.NoError(t, err)
	conn := boot(t, server.Config{Edition: edition})
	_, err = v1.NewSelectionServiceClient(conn).Substitute(within(t), &v1.SubstituteRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf,
		Lift: "push-up", KitTaken: []string{"bnd"}})
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

func TestExplainLeavesOtherErrors(t *testing.T) {
	c, err := read("ref: a\n")
	require.NoError(t, err)
	require.NoError(t, c.Explain(nil))
	other := errors.New("the line is dead")
	require.Equal(t, other, c.Explain(other))
	missing := c.Explain(&client.Invalid{Violations: []client.Violation{{Field: "as_of", Message: "the day is missing"}}})
	require.Equal(t, "c.yaml: as_of: the day is missing; write the day, as_of: YYYY-MM-DD", missing.Error())
}

func FuzzReadClient(f *testing.F) {
	f.Add("ref: a\nkit: {has: [band]}\n")
	f.Add("range_deg: {shoulder.flexion: {left: {value: 1, date: 2026-11-20}}}\ncomplaints: [{region: a}]\n")
	f.Fuzz(func(t *testing.T, text string) {
		c, err := read(text)
		var problems authored.Problems
		if (c == nil) != errors.As(err, &problems) {
			t.Fatalf("client %v with error %v", c, err)
		}
	})
}
