package server_test

import (
	"cmp"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/reflect/protoreflect"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	"drillwright/catalog/drilltest"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/server"
)

// tagOf are the rows of a drill's file that rules read under another name than their key.
var tagOf = map[string]string{
	"grip.width":                             "grip_width",
	"grip.effort":                            "grip_effort",
	"spine.compression":                      "spine.compression",
	"spine.flexed":                           "spine.flexed",
	"spine.extended":                         "spine.extended",
	"spine.twist":                            "spine.twist",
	"regions.elbow.rung":                     "rung.elbow",
	"regions.elbow.role":                     "role.elbow",
	"arcs.shoulder.flexion.from":             "arc.shoulder.flexion.from",
	"arcs.shoulder.flexion.to":               "arc.shoulder.flexion.to",
	"arcs.shoulder.flexion.hardest":          "arc.shoulder.flexion.hardest",
	"arcs.shoulder.flexion.loaded.from":      "arc.shoulder.flexion.loaded.from",
	"arcs.shoulder.flexion.loaded.to":        "arc.shoulder.flexion.loaded.to",
	"stressors.top.overhead_end_range.grade": "stressor.overhead_end_range",
}

// unread are those that no rule reads, and why.
var unread = map[string]string{
	"use":                                 "the fields of its blocks are read",
	"variant_of":                          "the family is read",
	"bears_on":                            "the regions that are loaded are read",
	"regions.elbow.on":                    "it is the row that a region stands in",
	"arcs.shoulder.flexion.on":            "it is the row that an arc stands in",
	"stressors.top.overhead_end_range.on": "it is the row that a stressor stands in",
	"seconds_per_rep":                     "it counts for the length of a session only",
	"cues":                                "it is said to the client",
	"stop_if":                             "it is said to the client",
	"regress_to":                          "rules know drills by what they ask",
	"progress_to":                         "rules know drills by what they ask",
	"tags_from.kind":                      "it says nothing of the drill",
	"tags_from.cite":                      "it says nothing of the drill",
	"tags_from.note":                      "it says nothing of the drill",
}

// shownAs are those that stand elsewhere in the contract; nowhere where no path is given.
var shownAs = map[string]string{
	"use":                                    "", // the fields of its blocks are shown
	"regions.elbow.rung":                     "rows.regions.rung",
	"regions.elbow.role":                     "rows.regions.role",
	"regions.elbow.on":                       "", // the row that the region stands in
	"arcs.shoulder.flexion.from":             "rows.arcs.from",
	"arcs.shoulder.flexion.to":               "rows.arcs.to",
	"arcs.shoulder.flexion.hardest":          "rows.arcs.hardest",
	"arcs.shoulder.flexion.loaded.from":      "rows.arcs.loaded.from",
	"arcs.shoulder.flexion.loaded.to":        "rows.arcs.loaded.to",
	"arcs.shoulder.flexion.on":               "", // the row that the arc stands in
	"stressors.top.overhead_end_range.grade": "rows.stressors.grade",
	"stressors.top.overhead_end_range.on":    "", // the row that the stressor stands in
}

// rowSet is a row of a drill's file with the drill, beside drilltest.Base, that says something else there, and a condition that holds of
// this drill only; none where no rule reads it.
type rowSet struct {
	drilltest.Row
	id, when string
	value    any
}

// rowsSet are all rows, each set alone.
func rowsSet(t *testing.T) []rowSet {
	var all []rowSet
	for i, row := range drilltest.Rows() {
		set := rowSet{Row: row, id: fmt.Sprintf("row-%d", i), value: row.Other(edition.Words)}
		if row.String() == "id" {
			set.value = set.id
		}
		path := "drill." + cmp.Or(tagOf[row.String()], row.Path[len(row.Path)-1])
		when := condition(path, set.value)
		switch _, err := edition.Filter(when); {
		case unread[row.String()] != "":
			assert.Error(t, err, "%s is read as %s, though it is said that %s", row, path, unread[row.String()])
		case assert.NoError(t, err, "no rule can read %s", row):
			set.when = when
			wordsRead(t, row, path)
		}
		all = append(all, set)
	}
	return all
}

// wordsRead is that a rule may say every word that a file may.
func wordsRead(t *testing.T, row drilltest.Row, path string) {
	for _, word := range edition.Words(row.Tag.Get("of")) {
		var said any = word
		if row.Type.Kind() == reflect.Slice {
			said = []any{word}
		}
		_, err := edition.Filter(condition(path, said))
		assert.NoError(t, err, "%s may be %s, and no rule can say so", row, word)
	}
}

// withRows is the embedded edition with a drill for every row, and a rule for those that rules read.
func withRows(t *testing.T, all []rowSet) *rules.Edition {
	block := authored.File{Name: "block.yaml", Data: []byte("blocks: [{id: another, stop_if: Never.}]")}
	files := append(rules.EmbeddedFiles(), drilltest.File(drilltest.Base, nil, nil), block)
	book := "rules:\n"
	for _, row := range all {
		files = append(files, drilltest.File(row.id, row.Path, row.value))
		if row.when != "" {
			const rule = "  - {id: %s, effect: favour, when: %q, because: It is so., points: 1, source: {kind: judged}}\n"
			book += fmt.Sprintf(rule, row.id, row.when)
		}
	}
	e, err := edition.Redraft(append(files, authored.File{Name: "rules.yaml", Data: []byte(book)}))
	require.NoError(t, err)
	return e
}

// TestEveryDrillFieldCounts: each field that the file of a drill may give, set alone, is in the drill as it was read, is read by a
// rule under its name, closures and programs alike, and is shown to who asks for the drill; or it says above why not.
func TestEveryDrillFieldCounts(t *testing.T) {
	rows := rowsSet(t)
	e := withRows(t, rows)
	day, err := client.ParseDay("2026-11-28")
	require.NoError(t, err)
	facts := client.Derive(e.Frame, &client.Request{AsOf: day, Profile: &client.Profile{}})
	judged := map[string]*rules.Judgement{"closures": e.JudgeOne(facts, nil), "programs": e.ByReference().JudgeOne(facts, nil)}
	answers := v1.NewCatalogServiceClient(boot(t, server.Config{Edition: e}))
	message := func(id string) protoreflect.Message {
		resp, err := answers.GetDrill(within(t), &v1.GetDrillRequest{Id: id})
		require.NoError(t, err)
		return resp.GetDrill().ProtoReflect()
	}
	base, was := e.Catalogue.Drill(drilltest.Base), message(drilltest.Base)
	known := map[string]bool{}
	for _, row := range rows {
		known[row.String()] = true
		d := e.Catalogue.Drill(row.id)
		resolved(t, row.Row, base, d)
		if i := slices.IndexFunc(e.AllRules(), func(r *rules.Rule) bool { return r.ID == row.id }); i >= 0 {
			for way, j := range judged {
				assert.Zero(t, j.Held(e.AllRules()[i], base, catalog.Left)&rules.Sure, "%s: what a rule says of it, by %s", row, way)
				assert.NotZero(t, j.Held(e.AllRules()[i], d, catalog.Left)&rules.Sure, "%s: what a rule says of it, by %s", row, way)
			}
		}
		path, elsewhere := shownAs[row.String()]
		if !elsewhere {
			path = row.String()
		}
		if path != "" {
			is := shown(t, message(d.ID), strings.Split(path, "."))
			assert.NotEqual(t, shown(t, was, strings.Split(path, ".")), is, "%s: %s in the contract", row, path)
			assert.Contains(t, is, strings.Trim(fmt.Sprint(row.value), "[]"), "%s: %s in the contract", row, path)
		}
	}
	for _, listed := range []map[string]string{tagOf, unread, shownAs} {
		for key := range listed {
			assert.True(t, known[key], "%s is no row any more", key)
		}
	}
}

// resolved is that a drill differs from another in what its row says and, of the fields that drills have as they were written, in
// no other.
func resolved(t *testing.T, row drilltest.Row, base, d *catalog.Drill) {
	like := *d
	like.Index, like.At = base.Index, base.At
	if row.String() != "id" {
		like.ID, like.Family = base.ID, base.Family
	}
	if slices.EqualFunc(like.TagsFrom.Cite, base.TagsFrom.Cite, func(a, b authored.Text) bool { return a.Value == b.Value }) {
		like.TagsFrom.Cite = base.TagsFrom.Cite
	}
	assert.False(t, reflect.DeepEqual(base, &like), "%s isn't in the drill as it was read", row)
	for _, f := range catalog.Fields() {
		if f.Key != row.String() && row.String() != "use" {
			assert.Equal(t, f.In(base), f.In(&like), "%s changes %s", row, f.Key)
		}
	}
}

// condition is one that holds of what has a value.
func condition(path string, value any) string {
	switch value := value.(type) {
	case bool:
		if value {
			return path
		}
		return "not " + path
	case string:
		return fmt.Sprintf("%s == '%s'", path, value)
	case []any:
		return fmt.Sprintf("'%s' in %s", value[0], path)
	}
	return fmt.Sprintf("%s >= %v and %[1]s <= %[2]v", path, value)
}

// shown is what stands at a path of a message, in all items of the lists on the way.
func shown(t *testing.T, m protoreflect.Message, path []string) []string {
	f := m.Descriptor().Fields().ByName(protoreflect.Name(path[0]))
	if !assert.NotNil(t, f, "%s has no %s", m.Descriptor().Name(), path[0]) {
		return nil
	}
	items := []protoreflect.Value{m.Get(f)}
	if f.IsList() {
		items = nil
		for i := range m.Get(f).List().Len() {
			items = append(items, m.Get(f).List().Get(i))
		}
	}
	var all []string
	for _, item := range items {
		if len(path) > 1 {
			all = append(all, shown(t, item.Message(), path[1:])...)
		} else {
			all = append(all, item.String())
		}
	}
	return all
}
