package catalog_test

import (
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	"drillwright/catalog/drilltest"
)

// written are drills, each in a file of its own, what reading them all said of each, and what that is held against.
type written struct {
	files  []authored.File
	snap   *catalog.Snapshot
	said   map[string]authored.Problems // by drill
	checks []func(t *testing.T)
}

// add is a drill that says something else at a path, under the name that it is found by.
func (w *written) add(path []string, value any) string {
	id := fmt.Sprintf("d-%d", len(w.files))
	w.files = append(w.files, drilltest.File(id, path, value))
	return id
}

func (w *written) later(check func(t *testing.T)) { w.checks = append(w.checks, check) }

func (w *written) read(t *testing.T) {
	var err error
	var problems authored.Problems
	w.files = append(w.files, drilltest.File(drilltest.Base, nil, nil))
	w.snap, err = catalog.Read(slices.Concat(drilltest.Vocabulary(), w.files))
	errors.As(err, &problems)
	w.said = map[string]authored.Problems{}
	for _, p := range problems {
		id := strings.TrimSuffix(p.At.Source.Name, ".yaml")
		w.said[id] = append(w.said[id], p)
	}
	require.Empty(t, w.said[drilltest.Base])
	for _, check := range w.checks {
		check(t)
	}
}

// refused wants such words said of a value, at its line.
func (w *written) refused(row drilltest.Row, value any, part, words string) {
	id := w.add(row.Path, value)
	w.later(func(t *testing.T) {
		for _, p := range w.said[id] {
			if strings.Contains(p.Message, words) {
				assert.Contains(t, p.At.Source.Lines()[p.At.Line-1], part, "%s: %s", row, p)
				return
			}
		}
		assert.Fail(t, "not refused", "%s: %v: no problem has the words %q: %v", row, value, words, w.said[id])
	})
}

// taken wants nothing said that has such words.
func (w *written) taken(row drilltest.Row, value any, words string) {
	id := w.add(row.Path, value)
	w.later(func(t *testing.T) {
		for _, p := range w.said[id] {
			assert.NotContains(t, p.Message, words, "%s: %v is refused", row, value)
		}
	})
}

func (w *written) words(t *testing.T, row drilltest.Row, list string, known []string) {
	require.NotEmpty(t, known, "%s: there is no list %q", row, list)
	of := func(word string) any {
		if row.Type.Kind() == reflect.Slice {
			return []any{word}
		}
		return word
	}
	for _, word := range known {
		w.taken(row, of(word), "unknown")
	}
	w.refused(row, of("no_such_word"), "no_such_word", "unknown "+list)
}

func (w *written) limits(t *testing.T, row drilltest.Row, limits string) {
	least, most, ok := strings.Cut(limits, "..")
	require.True(t, ok, "%s: %s", row, limits)
	for end, step := range map[string]int{least: -1, most: 1} {
		n, err := strconv.Atoi(end)
		require.NoError(t, err, row)
		w.taken(row, n, "")
		beyond := strconv.Itoa(n + step)
		w.refused(row, n+step, beyond, beyond)
	}
}

func (w *written) unstated(row drilltest.Row, text string) {
	stated, silent := w.add(row.Path, scalar(text)), w.add(row.Path, nil)
	w.later(func(t *testing.T) {
		f := catalog.FieldOf(row.String())
		assert.Equal(t, f.In(w.snap.Drill(stated)), f.In(w.snap.Drill(silent)), "%s: %s unless stated", row, text)
	})
}

// TestDrillsAreReadAsTheirRowsSay: the words and the limits that a row states, and an editor shows, are those that are let through,
// and what it says of a field that isn't stated is what that is.
func TestDrillsAreReadAsTheirRowsSay(t *testing.T) {
	vocabulary, err := catalog.Read(drilltest.Vocabulary())
	require.NoError(t, err)
	var w written
	for _, row := range drilltest.Rows() {
		if list := row.Tag.Get("of"); list != "" && list != "rung" { // rungs are those of a book's ladders
			w.words(t, row, list, vocabulary.Vocabulary.Words(list))
		}
		if limits, ok := row.Tag.Lookup("range"); ok {
			w.limits(t, row, limits)
		}
		text, ok := row.Tag.Lookup("default")
		if ok {
			w.unstated(row, text)
		}
		if slices.ContainsFunc(catalog.Fields(), func(f catalog.Field) bool { return f.Key == row.String() }) {
			assert.Equal(t, ok, strings.Contains(row.Tag.Get("doc"), text+" unless stated"), "%s: its doc on what it is unless stated", row)
		}
	}
	w.read(t)
}

// TestDrillsMustSayWhatTheirShapeSays: what the schema asks of every drill is what the reader misses.
func TestDrillsMustSayWhatTheirShapeSays(t *testing.T) {
	var shape authored.Schema
	one := reflect.TypeOf(catalog.DrillsAsWritten()).Elem()
	reflect.New(one).Interface().(authored.Shaped).Shape(&shape)
	must := shape.AllOf[0].Then.Required
	var w written
	byKey := map[string]string{}
	for i := range one.NumField() {
		if key := one.Field(i).Tag.Get("yaml"); key != "" && key != "id" {
			byKey[key] = w.add([]string{key}, nil)
		}
	}
	w.read(t)
	for key, id := range byKey {
		misses := slices.ContainsFunc(w.said[id], func(p authored.Problem) bool { return strings.Contains(p.Message, "has no "+key) })
		assert.Equal(t, slices.Contains(must, key), misses, "%s: %v", key, w.said[id])
	}
	for _, key := range must {
		assert.Contains(t, byKey, key)
	}
}

// scalar is a text as YAML reads it.
func scalar(text string) any {
	if n, err := strconv.Atoi(text); err == nil {
		return n
	}
	if b, err := strconv.ParseBool(text); err == nil {
		return b
	}
	return text
}
