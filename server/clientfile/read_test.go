package clientfile_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules/client"
	"drillwright/server/clientfile"
)

func read(text string) (*clientfile.File, error) {
	return clientfile.Read(authored.File{Name: "c.yaml", Data: []byte(text)})
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

func TestMistakesOfAClientFile(t *testing.T) {
	if testing.Short() {
		t.Skip("reads a file of ten megabytes")
	}
	for name, c := range map[string]struct{ text, want string }{
		"unknown key":        {"age_year: 44\n", `c.yaml:1:1: unknown key "age_year"; did you mean "age_years"?`},
		"unknown inner key":  {"kit: {hass: [band]}\n", `c.yaml:1:7: unknown key "hass"; did you mean "has"?`},
		"wrong type":         {"age_years: old\n", `c.yaml:1:12: "old" is not a number`},
		"a part of a year":   {"age_years: 44.5\n", `c.yaml:1:12: "44.5" is not a whole number`},
		"a huge number":      {"age_years: 9e99\n", `c.yaml:1:12: 9e99 is too great`},
		"word in lower case": {"training: novice\n", `c.yaml:1:11: unknown word "novice"; did you mean "NOVICE"?`},
		"zero value": {"training: TRAINING_UNSPECIFIED\n",
			`c.yaml:1:11: unknown word "TRAINING_UNSPECIFIED"; known: NOVICE, INTERMEDIATE, ADVANCED`},
		"word as number":   {"training: 1\n", `c.yaml:1:11: unknown word "1"; known: NOVICE, INTERMEDIATE, ADVANCED`},
		"list for mapping": {"kit: [band]\n", `c.yaml:1:6: here stands a list; it must be a mapping with the keys has`},
		"word for list": {"disliked: push-up\n",
			`c.yaml:1:11: here stands "push-up"; it must be a list; write [a, b] or one item a line with a dash`},
		"mapping for word": {"ref: {a: b}\n", `c.yaml:1:6: here stands keys with values; it must be a text`},
		"list for map":     {"pain: [1]\n", `c.yaml:1:7: here stands a list; it must be a mapping of ids to values`},
		"mapping for enum": {"sex: {}\n", `c.yaml:1:6: here stands a mapping; it must be a word; known: FEMALE, MALE`},
		"no value": {"conditions:\n",
			`c.yaml:1:1: conditions has no value; leave the key out if it isn't known, or write {} or [] for none`},
		"yes for true":   {"supervised: yes\n", `c.yaml:1:13: yes stands where true or false must be; write true`},
		"key twice":      {"ref: a\nref: b\n", `c.yaml:2:1: key "ref" stands twice`},
		"empty":          {"", `c.yaml:1:1: the file is empty`},
		"only a comment": {"# nothing\n", `c.yaml`},
		"a list":         {"- 1\n", `c.yaml:1:1: a file begins with a key that says what is in it; this one begins with a list`},
		"binary":         {"\x00\x01\xff\xfe", `c.yaml:1:3: this letter can't be read; save the file as UTF-8`},
		"anchors":        {"ref: &a b\n", `c.yaml:1:6: & gives a value a name, which is not read`},
		"10 MB":          {"ref: " + strings.Repeat("a", 10<<20), `c.yaml:1:1: the file has 10485765 bytes`},
		"deep nesting":   {"ref: " + strings.Repeat("[", 200_000), `c.yaml:1:`},
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

func TestExplainLeavesOtherErrors(t *testing.T) {
	c, err := read("ref: a\n")
	require.NoError(t, err)
	require.NoError(t, c.Explain(nil))
	other := errors.New("the line is dead")
	require.Equal(t, other, c.Explain(other))
	missing := c.Explain(&client.Invalid{Violations: []client.Violation{{Field: "as_of", Message: "the day is missing"}}})
	require.Equal(t, "c.yaml: as_of: the day is missing; write the day, as_of: YYYY-MM-DD", missing.Error())
}

func FuzzRead(f *testing.F) {
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
