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

	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules/client"
	"drillwright/rules/selection"
	"drillwright/server/clientfile"
)

var panelTable = flag.Bool("table", false, "print every request of testdata/panel and what became of it")

// panelled is a request of testdata/panel; the README there says what each field is.
type panelled struct {
	ID, Who, Lift, Why string
	Complaint          yaml.Node
	Client             map[string]yaml.Node
	Scored             struct {
		Rest, Worst float64
		NextDay     float64 `yaml:"next_day"`
		SettleHours float64 `yaml:"settle_hours"`
	}
	Measured           map[string]yaml.Node
	Take, First, Never []string

	region, side string
}

// panelStates are how much is known: the complaint and the screening; with pain; with range and rung.
var panelStates = []string{"complaint", "pain", "range"}

// panelRow is how one request came out in one state.
type panelRow struct {
	keeps, open, picks int
	why                bool // the answer says in words why none is open
	first, take        bool // one that the coach would name first, or gladly take, is among the first three
	never              []string
	names              []string
}

func panelRequests(t *testing.T) (base map[string]yaml.Node, requests []*panelled) {
	strictly(t, "../testdata/panel/base.yaml", &base)
	paths, err := filepath.Glob("../testdata/panel/*.yaml")
	require.NoError(t, err)
	seen := map[string]bool{}
	for _, path := range paths {
		if filepath.Base(path) == "base.yaml" {
			continue
		}
		var file struct{ Requests []*panelled }
		strictly(t, path, &file)
		for _, p := range file.Requests {
			var c struct{ Region, Side string }
			require.NoError(t, p.Complaint.Decode(&c))
			p.region, p.side = c.Region, c.Side
			require.False(t, seen[p.ID], "%s stands twice", p.ID)
			seen[p.ID] = true
		}
		requests = append(requests, file.Requests...)
	}
	return base, requests
}

// file is the client file of a request in a state.
func (p *panelled) file(t *testing.T, base map[string]yaml.Node, state int) []byte {
	fields := map[string]yaml.Node{}
	take := func(from map[string]yaml.Node) {
		for key, value := range from {
			fields[key] = value
		}
	}
	take(base)
	take(p.Client)
	put := func(key, text string, args ...any) {
		var document yaml.Node
		require.NoError(t, yaml.Unmarshal(fmt.Appendf(nil, text, args...), &document), key)
		fields[key] = *document.Content[0]
	}
	put("as_of", signsToday)
	put("screening", "{list: everyone, on: %s, others: NO, also: [%s]}", signsToday, p.region)
	fields["complaints"] = yaml.Node{Kind: yaml.SequenceNode, Content: []*yaml.Node{&p.Complaint}}
	if state > 0 {
		side := strings.ToLower(p.side)
		if side == "" {
			side = "midline"
		}
		put("pain", "{%s: {%s: {rest: %g, worst: %g, next_day: %g, settle_hours: %g, wakes_at_night: false, date: %s}}}",
			p.region, side, p.Scored.Rest, p.Scored.Worst, p.Scored.NextDay, p.Scored.SettleHours, signsToday)
	}
	if state > 1 {
		take(p.Measured)
	}
	root := yaml.Node{Kind: yaml.MappingNode}
	for _, key := range slices.Sorted(mapKeys(fields)) {
		value := fields[key]
		root.Content = append(root.Content, &yaml.Node{Kind: yaml.ScalarNode, Value: key}, &value)
	}
	text, err := yaml.Marshal(&root)
	require.NoError(t, err)
	return text
}

func (p *panelled) ask(t *testing.T, base map[string]yaml.Node, state int) panelRow {
	e := embedded()
	file, err := clientfile.Read(authored.File{Name: p.ID + ".yaml", Data: p.file(t, base, state)})
	require.NoError(t, err, p.ID)
	q, wrong := converted(&v1.ScreenRequest{Profile: file.Profile, Complaints: file.Complaints, AsOf: file.AsOf})
	require.NoError(t, client.NewInvalid(wrong), p.ID)
	q.Lift = p.Lift
	a, err := selection.Substitute(e, q, selection.Options{})
	require.NoError(t, err, p.ID)
	lift := &e.Catalogue.Features[e.Catalogue.Drill(p.Lift).Index]
	row := panelRow{picks: len(a.Substitutes)}
	for i, s := range a.Substitutes {
		k := &e.Catalogue.Features[s.Drill.Index]
		if k.Kind == lift.Kind || k.Prime.Meets(lift.Prime) {
			row.keeps++
		}
		if s.Verdict == "OPEN" {
			row.open++
		}
		if i < 3 {
			row.first = row.first || slices.Contains(p.First, s.Drill.ID)
			row.take = row.take || slices.Contains(p.Take, s.Drill.ID)
		}
		if slices.Contains(p.Never, s.Drill.ID) {
			row.never = append(row.never, s.Drill.ID)
		}
		row.names = append(row.names, s.Drill.ID+map[string]string{"OPEN": "", "TEST_FIRST": "?"}[s.Verdict])
	}
	row.why = slices.ContainsFunc(a.Notes, func(n string) bool { return strings.HasPrefix(n, "Nothing near the lift is open today") })
	return row
}

// TestPanel: what a careful coach would take, against what is offered to members of whom little is known.
func TestPanel(t *testing.T) {
	base, requests := panelRequests(t)
	var enough, opens, first, take, better int
	var nevers []string
	byState := [3]struct{ keeps, first, take, open int }{}
	for _, p := range requests {
		require.NotNil(t, embedded().Catalogue.Drill(p.Lift), p.ID)
		for _, id := range slices.Concat(p.Take, p.First, p.Never) {
			require.NotNil(t, embedded().Catalogue.Drill(id), "%s: %s", p.ID, id)
		}
		var rows [3]panelRow
		for state := range panelStates {
			r := p.ask(t, base, state)
			rows[state] = r
			s := &byState[state]
			s.keeps, s.open = s.keeps+ones(r.keeps >= 4), s.open+ones(r.open >= 2 || r.open == 0 && r.why)
			s.first, s.take = s.first+ones(r.first), s.take+ones(r.take)
			for _, id := range r.never {
				nevers = append(nevers, p.ID+": "+id)
			}
			if *panelTable {
				fmt.Printf("%-44s %-9s keeps %d of %d, open %d, first %-5v take %-5v never %v\n    %s\n", p.ID, panelStates[state], r.keeps, r.picks,
					r.open,
					r.first, r.take, r.never, strings.Join(r.names, " "))
			}
		}
		enough += ones(rows[0].keeps >= 4 && rows[1].keeps >= 4)
		opens += ones((rows[0].open >= 2 || rows[0].why) && (rows[1].open >= 2 || rows[1].why))
		first, take = first+ones(rows[0].first), take+ones(rows[0].take)
		better += ones(rows[1].keeps >= rows[0].keeps)
	}
	all := len(requests)
	t.Logf("%d requests; four of five keep the lift's pattern or prime movers in both first states: %d; two open, or a word why: %d; pain "+
		"told never keeps fewer: %d",
		all, enough, opens, better)
	for state, s := range byState {
		t.Logf("%-9s four keep %d, two open or why %d, a first among three %d, a take among three %d", panelStates[state], s.keeps, s.open,
			s.first, s.take)
	}
	require.Empty(t, nevers)
	require.GreaterOrEqual(t, enough*10, all*9, "four of five keep the lift's pattern or prime movers")
	require.Equal(t, all, opens, "two are open, or a word says why none is")
	require.Equal(t, all, better, "pain told keeps no fewer")
}

func ones(yes bool) int {
	if yes {
		return 1
	}
	return 0
}
