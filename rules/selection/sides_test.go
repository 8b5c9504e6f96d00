package selection_test

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"regexp"
	"slices"
	"sort"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"drillwright/catalog"
	"drillwright/rules/client"
	"drillwright/rules/internal/random"
	"drillwright/rules/selection"
)

var otherSide = map[client.Side]client.Side{client.SideLeft: client.SideRight, client.SideRight: client.SideLeft}

// mirrored is the same client seen in a mirror.
func mirrored(q *client.Request) *client.Request {
	return swapped(reflect.ValueOf(q)).Interface().(*client.Request)
}

// swapped is a copy in which every side is the other.
func swapped(v reflect.Value) reflect.Value {
	out := reflect.New(v.Type()).Elem()
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			out.Set(reflect.New(v.Type().Elem()))
			out.Elem().Set(swapped(v.Elem()))
		}
	case reflect.Struct:
		for i := range v.NumField() {
			out.Field(i).Set(swapped(v.Field(i)))
		}
	case reflect.Slice:
		for i := range v.Len() {
			out.Set(reflect.Append(out, swapped(v.Index(i))))
		}
	default:
		out.Set(v)
		if side, ok := v.Interface().(client.Side); ok && otherSide[side] != "" {
			out.Set(reflect.ValueOf(otherSide[side]))
		}
	}
	return out
}

var (
	sideWords = regexp.MustCompile(`(?i)(repetitions |)\b(left|right)\b( out| angle|)`)
	other     = map[string]string{"left": "right", "right": "left", "Left": "Right", "Right": "Left", "LEFT": "RIGHT", "RIGHT": "LEFT"}
)

// turned writes each word of a side by another.
func turned(text string, to func(string) string) string {
	return sideWords.ReplaceAllStringFunc(text, func(s string) string {
		if other[s] == "" { // repetitions left, left out, a right angle
			return s
		}
		return to(s)
	})
}

var enumeration = regexp.MustCompile(`, | and |: |; (or )?`)

// lines writes an answer out, what is ranked in its order and the rest in the order of its words: which of two sides that
// have as much to say is named first means nothing. It is written as seen in a mirror where that is wanted.
func lines(at string, v reflect.Value, mirror bool) []string {
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			return []string{at + ": none"}
		}
		if d, ok := v.Interface().(*catalog.Drill); ok {
			return []string{at + ": " + d.ID}
		}
		return lines(at, v.Elem(), mirror)
	case reflect.Struct:
		var out []string
		for i := range v.NumField() {
			field := v.Type().Field(i)
			if v.Type() == reflect.TypeFor[selection.Header]() && field.Name == "Receipt" { // of another request
				continue
			}
			out = append(out, lines(at+"."+field.Name, v.Field(i), mirror)...)
		}
		if v.Type() == reflect.TypeFor[selection.LeftOut]() { // one side stands for both
			for i := range out {
				out[i] = turned(out[i], func(string) string { return "" })
			}
		}
		return out
	case reflect.Slice, reflect.Array:
		var out []string
		var parts []string
		for i := range v.Len() {
			parts = append(parts, strings.Join(lines("", v.Index(i), mirror), "; "))
		}
		eitherFirst := slices.ContainsFunc(parts, func(s string) bool { return strings.Contains(s, "Either side first") })
		if eitherFirst {
			for i := range parts {
				parts[i] = strings.NewReplacer("Either side first.", "", "Then the other side, the same.", "",
					"Then the other side, by its own dose.", "").Replace(parts[i])
			}
		}
		if v.Kind() == reflect.Slice && !ranked[v.Type().Elem()] || eitherFirst {
			sort.Strings(parts)
		}
		for i, p := range parts {
			out = append(out, fmt.Sprintf("%s[%d]%s", at, i, p))
		}
		return out
	}
	text := fmt.Sprint(v.Interface())
	if mirror && v.Kind() == reflect.String {
		text = turned(text, func(s string) string { return other[s] })
	}
	if strings.Contains(text, "(not measured yet)") || strings.Contains(text, "(today ") { // changes, enumerated: the left before the right
		parts := enumeration.Split(text, -1)
		sort.Strings(parts)
		text = strings.Join(parts, ", ")
	}
	return []string{at + ": " + text}
}

// alike fails at the first line that differs, and shows where.
func alike(t require.TestingT, is, in []string) {
	for i := range min(len(is), len(in)) {
		from := 0
		for from < min(len(is[i]), len(in[i])) && is[i][from] == in[i][from] {
			from++
		}
		if is[i] != in[i] {
			near := func(s string) string { return s[max(0, from-300):min(len(s), from+200)] }
			require.FailNow(t, "a mirror shows something else", "is: %s\nin: %s", near(is[i]), near(in[i]))
		}
	}
	require.Len(t, in, len(is))
}

// ranked are what is put in an order that means something.
var ranked = map[reflect.Type]bool{
	reflect.TypeFor[selection.Choice](): true, reflect.TypeFor[selection.SessionDrill](): true, reflect.TypeFor[selection.SideDose](): true,
	reflect.TypeFor[selection.Backup](): true,
}

// anyone draws a client of the catalogue: what is told, of which side, and what is sore.
func anyone(t *testing.T, seed uint64) *client.Request {
	e, dice := edition(t), rand.New(rand.NewPCG(seed, 11))
	chance := func(p float64) bool { return dice.Float64() < p }
	q := random.Client(seed, e.Frame.Vocabulary, []float64{0, 0.2, 0.6}[dice.IntN(3)])
	p := q.Profile
	p.Answers, p.Screening = nil, &client.Screening{Lists: e.Frame.ListIDs(), Day: q.AsOf, Others: "NO"}
	drill := func() string { return e.Catalogue.DrillIDs()[dice.IntN(len(e.Catalogue.Drills))] }
	for i := range p.Log {
		p.Log[i].Drill = drill()
	}
	for _, list := range []*[]string{&p.Disliked, &p.GoalLifts} {
		for i := range *list {
			(*list)[i] = drill()
		}
		slices.Sort(*list)
		*list = slices.Compact(*list)
	}
	if chance(0.8) {
		p.KitTold, p.Kit = true, e.Frame.Vocabulary.IDs("kit")
	}
	if p.AgeYears != nil && chance(0.8) {
		*p.AgeYears = max(18, min(64, *p.AgeYears))
	}
	if chance(0.9) {
		p.Pregnancy, p.Surgeries, p.BloodPressure, p.Medicines = nil, nil, nil, nil
	}
	p.Conditions = p.Conditions[:min(len(p.Conditions), dice.IntN(3))]
	for i := range q.Complaints {
		q.Complaints[i].Intensity, q.Complaints[i].Onset, q.Complaints[i].Kind = float64(1+dice.IntN(5)), "GRADUAL", "ACHE"
	}
	for i := range p.Clearances {
		p.Clearances[i].Covers = slices.DeleteFunc(p.Clearances[i].Covers, func(id string) bool {
			return !slices.ContainsFunc(p.Conditions, func(k client.Condition) bool { return k.ID == id })
		})
	}
	for i := range p.Pain {
		for _, score := range []*float64{p.Pain[i].Rest, p.Pain[i].Worst} {
			if score != nil && chance(0.7) {
				*score = min(*score, 3)
			}
		}
	}
	q.KitTaken, q.StationsTaken = nil, nil
	require.NoError(t, client.Check(e.Frame, q), "%d", seed)
	return q
}

// TestSidesMirror: a client seen in a mirror gets the answer seen in a mirror: verdicts and doses of every drill, order,
// cautions and words.
func TestSidesMirror(t *testing.T) {
	e := edition(t)
	answered, dosed := 0, 0
	rapid.Check(t, func(r *rapid.T) {
		q := anyone(t, rapid.Uint64Range(0, 1<<40).Draw(r, "client"))
		same := func(what string, answer func(q *client.Request) (any, error)) any {
			is, err := answer(q)
			require.NoError(r, err)
			in, err := answer(mirrored(q))
			require.NoError(r, err)
			alike(r, lines(what, reflect.ValueOf(is), false), lines(what, reflect.ValueOf(in), true))
			return is
		}
		same("screen", func(q *client.Request) (any, error) { return selection.Screen(e, q) })
		plan := e.Book.Plans[rapid.IntRange(0, len(e.Book.Plans)-1).Draw(r, "plan")].ID
		same("select", func(q *client.Request) (any, error) {
			return selection.Select(e, q, plan, selection.Options{})
		})
		lifts := slices.DeleteFunc(slices.Clone(e.Catalogue.Drills), func(d *catalog.Drill) bool { return d.Pattern.SingleJoint || !d.Loads })
		q.Lift = lifts[rapid.IntRange(0, len(lifts)-1).Draw(r, "lift")].ID
		a := same("substitute", func(q *client.Request) (any, error) { return selection.Substitute(e, q, selection.Options{Limit: 40}) })
		if len(a.(*selection.SubstituteAnswer).Substitutes) > 0 {
			answered++
		}
		for range 2 {
			id := e.Catalogue.Drills[rapid.IntRange(0, len(e.Catalogue.Drills)-1).Draw(r, "drill")].ID
			same(id, func(q *client.Request) (any, error) { return selection.Explain(e, q, id) })
		}
		is, err := selection.Doses(e, q)
		require.NoError(r, err)
		in, err := selection.Doses(e, mirrored(q))
		require.NoError(r, err)
		for id, sides := range is {
			other := in[id]
			other[0], other[1] = other[1], other[0]
			alike(r, lines(id, reflect.ValueOf(&sides).Elem(), false), lines(id, reflect.ValueOf(&other).Elem(), true))
			for _, side := range sides {
				if side.Dose != nil {
					dosed++
				}
			}
		}
	})
	require.Positive(t, answered)
	t.Logf("%d clients had substitutes, %d sides a dose", answered, dosed)
}
