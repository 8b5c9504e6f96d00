package server

import (
	"flag"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules/client"
	"drillwright/rules/selection"
	"drillwright/server/clientfile"
)

var everyChoice = flag.Bool("choices", false, "print what each client of testdata/choices is offered")

// choosing is a client of testdata/choices; the README there says what each field is.
type choosing struct {
	ID, Who, Lift string
	Client        map[string]yaml.Node
	Scored        map[string]signScore
	Lists         []string
	Complaints    yaml.Node
	First         []string
	Among         []string
	AtLeast       int `yaml:"at_least"`
	Treats        []string
	Never         []string
	NeverWhere    string `yaml:"never_where"`
	Refer         bool
	Why           string
}

// rightChoices is how many of the clients of testdata/choices must be given what the coach would give, whole.
const rightChoices = 25

// TestChoices: five real choices, and ones that fit the person.
func TestChoices(t *testing.T) {
	var base map[string]yaml.Node
	strictly(t, "../testdata/choices/base.yaml", &base)
	paths, err := filepath.Glob("../testdata/choices/[0-9]*.yaml")
	require.NoError(t, err)
	right, all := 0, 0
	kinds := map[string]int{}
	for _, path := range paths {
		var file struct{ Requests []*choosing }
		strictly(t, path, &file)
		here := 0
		for _, c := range file.Requests {
			faults := c.faults(t, base)
			for _, f := range faults {
				kind, _, _ := strings.Cut(f, ":")
				kinds[kind]++
			}
			if all++; len(faults) == 0 {
				right, here = right+1, here+1
				continue
			}
			t.Logf("%s: %s\n\t%s", c.ID, c.Who, strings.Join(faults, "\n\t"))
		}
		t.Logf("%-20s %2d of %2d", filepath.Base(path), here, len(file.Requests))
	}
	t.Logf("%d of %d right; faults %v", right, all, kinds)
	require.Zero(t, kinds["never"])
	require.GreaterOrEqual(t, right, rightChoices)
}

// faults are what is wrong with the five picks for a client.
func (c *choosing) faults(t *testing.T, base map[string]yaml.Node) (list []string) {
	e := embedded()
	who := sign{Client: map[string]yaml.Node{"complaints": c.Complaints}, Scored: c.Scored, Lists: c.Lists}
	for key, value := range c.Client {
		who.Client[key] = value
	}
	file, err := clientfile.Read(authored.File{Name: c.ID + ".yaml", Data: who.file(t, base)})
	require.NoError(t, err, c.ID)
	q, wrong := converted(&v1.ScreenRequest{Profile: file.Profile, Complaints: file.Complaints, AsOf: file.AsOf})
	require.NoError(t, client.NewInvalid(wrong), c.ID)
	q.Lift = c.Lift
	a, err := selection.Substitute(e, q, selection.Options{})
	require.NoError(t, err, c.ID)
	add := func(format string, args ...any) { list = append(list, fmt.Sprintf(format, args...)) }
	var names []string
	for _, s := range a.Substitutes {
		names = append(names, s.Drill.ID+map[string]string{"OPEN": "", "TEST_FIRST": "?"}[s.Verdict])
	}
	if *everyChoice {
		fmt.Printf("%-40s %s\n", c.ID, strings.Join(names, " "))
	}
	if c.Refer {
		if len(a.Screening.Referrals) == 0 {
			add("refer: nobody is sent on")
		}
		return list
	}
	where := func(*catalog.Drill) bool { return false }
	if c.NeverWhere != "" {
		where, err = e.Filter(c.NeverWhere)
		require.NoError(t, err, c.ID)
	}
	fits, treats := 0, len(c.Treats) == 0
	for i, s := range a.Substitutes {
		id := s.Drill.ID
		fits += ones(slices.Contains(c.Among, id))
		treats = treats || slices.Contains(c.Treats, id)
		switch {
		case slices.Contains(c.Never, id):
			add("never: %s", id)
		case where(s.Drill):
			add("never: %s, where %s", id, c.NeverWhere)
		}
		if i == 0 && !slices.Contains(c.First, id) {
			add("first: %s, wanted one of %v", id, c.First)
		}
		for _, before := range a.Substitutes[:i] {
			if d, b := s.Drill, before.Drill; d.Tool == b.Tool && d.Station == b.Station && d.Position == b.Position && d.Sides == b.Sides {
				add("alike: %s, %s", b.ID, d.ID)
			}
		}
	}
	if fits < min(c.AtLeast, 5) {
		add("among: %d of %d fit: %s", fits, len(a.Substitutes), strings.Join(names, " "))
	}
	if !treats {
		add("treats: none of %v in %s", c.Treats, strings.Join(names, " "))
	}
	return list
}
