package catalog

import (
	"strings"
	"testing"

	"drillwright/catalog/authored"

	"github.com/stretchr/testify/require"
)

// TestWhatIsCarriedFollowsFromTheVocabulary: by the muscles, the position, what is held, what supports the trunk, and the
// side that bears.
func TestWhatIsCarriedFollowsFromTheVocabulary(t *testing.T) {
	const vocabulary = `
vocabulary:
  regions: [{id: arm, name: arm, sided: true}, {id: back, name: back}, {id: leg, name: leg, sided: true}]
  planes: [{id: sagittal, name: sagittal plane}]
  patterns: [{id: lift, name: lift}]
  load_types: [{id: none, name: no load, weight: none}, {id: bands, name: bands, weight: pull}, {id: stones, name: stones}]
  tools: [{id: none, name: no load, load_type: none}, {id: band, name: band, load_type: bands}, {id: stone, name: stone, load_type: stones}]
  stations: [{id: floor, name: floor}]
  positions: [{id: up, name: up, bears: [leg], bears_held: [back]}, {id: down, name: down, bears: []}]
  muscles: [{id: long, name: long, region: arm, crosses: [back, arm]}, {id: short, name: short, region: arm, crosses: [arm]}]
`
	const drill = `
drills:
  - {id: d, name: D, sides: one_side, pattern: lift, planes: [sagittal], tool: stone, station: floor, position: up, muscles: {prime: [short]},
     regions: {arm: {rung: single_joint, role: drive}}, cues: ["Slow."], tags_from: {kind: judged}}
`
	for _, c := range []struct {
		about, from, to         string
		crossed, borne, another []string
	}{
		{"a load type that says nothing of its weight is held", "", "", []string{"arm"}, []string{"back", "leg"}, []string{"leg"}},
		{"a muscle crosses two", "prime: [short]", "prime: [long]", []string{"arm", "back"}, []string{"back", "leg"}, []string{"leg"}},
		{"one that only steadies crosses nothing", "prime: [short]", "prime: [short], steady: [long]", []string{"arm"},
			[]string{"back", "leg"}, []string{"leg"}},
		{"a band is not held", "tool: stone", "tool: band", []string{"arm"}, []string{"leg"}, []string{"leg"}},
		{"a band that presses the spine", "tool: stone", "tool: band, spine: {compression: 1}", []string{"arm"}, []string{"back", "leg"},
			[]string{"leg"}},
		{"own resistance goes through nothing", "tool: stone", "tool: none", []string{"arm"}, nil, nil},
		{"a trunk that is supported", "sides:", "trunk_support: full, sides:", []string{"arm"}, []string{"leg"}, []string{"leg"}},
		{"a trunk that is supported and pressed", "sides:", "trunk_support: full, spine: {compression: 1}, sides:", []string{"arm"},
			[]string{"back", "leg"}, []string{"leg"}},
		{"lying", "position: up", "position: down", []string{"arm"}, nil, nil},
		{"on the working leg", "sides:", "bears_on: same, sides:", []string{"arm"}, []string{"back", "leg"}, nil},
		{"on the other leg", "sides:", "bears_on: other, sides:", []string{"arm"}, []string{"back"}, []string{"leg"}},
		{"nothing beyond standing", "sides:", "bears_on: none, sides:", []string{"arm"}, nil, nil},
		{"both sides", "sides: one_side", "sides: two_side", []string{"arm"}, []string{"back", "leg"}, nil},
		{"moving without load", "rung: single_joint", "rung: active_motion", nil, nil, nil},
		{"an arm that moves without load while a leg holds", "arm: {rung: single_joint, role: drive}}",
			"arm: {rung: active_motion, role: drive}, leg: {rung: isometric, role: brace}}", nil, []string{"back", "leg"}, []string{"leg"}},
	} {
		require.Contains(t, drill, c.from, c.about)
		s, err := Read([]authored.File{{Name: "v.yaml", Data: []byte(vocabulary)},
			{Name: "d.yaml", Data: []byte(strings.Replace(drill, c.from, c.to, 1))}})
		require.NoError(t, err, c.about)
		rows := s.Drill("d").Rows
		require.Equal(t, c.crossed, rows[0].Crossed, c.about)
		require.Equal(t, c.borne, rows[0].Borne, c.about)
		if c.another == nil {
			require.Len(t, rows, 1, c.about)
			continue
		}
		require.Equal(t, c.another, rows[1].Borne, c.about)
		require.True(t, rows[1].OnlyBears(), c.about)
	}
}
