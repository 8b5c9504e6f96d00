// Package drilltest gives tests files of drills that differ from one another in one field, for every field that such a file may give.
package drilltest

import (
	"bytes"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"

	"drillwright/catalog"
	"drillwright/catalog/authored"
)

// Base is the drill that all others differ from, with what a drill must say and a little more.
const Base = "base"

const base = `
name: Base
changes: [load]
sides: one_side
pattern: vertical_push
planes: [sagittal]
tool: dumbbell
station: floor_space
position: standing
muscles: {prime: [middle_deltoid]}
regions: {shoulder: {rung: single_joint, role: drive}, elbow: {rung: isometric, role: support}}
arcs: {shoulder.flexion: {from: 10, to: 90, hardest: 80, loaded: {from: 20, to: 70}}}
stressors: {top: {overhead_end_range: {grade: 1}}}
cues: [Slowly.]
tags_from: {kind: study, cite: Somebody A et al. 1999}
`

// keys are the words that stand as keys, by their list, where Base has what is changed.
var keys = map[string]string{"region": "elbow", "motion": "shoulder.flexion", "moment": "top", "stressor": "overhead_end_range"}

// Vocabulary are the files of the vocabulary that comes with the program.
func Vocabulary() []authored.File {
	return slices.DeleteFunc(catalog.EmbeddedFiles(), func(f authored.File) bool { return !bytes.Contains(f.Data, []byte("\nvocabulary:\n")) })
}

// Row is a field that the file of a drill may give.
type Row struct {
	Path []string     // its keys, the outermost first
	Type reflect.Type // bool, int, float64, string, or []string
	Tag  reflect.StructTag
}

func (r Row) String() string { return strings.Join(r.Path, ".") }

// Rows are all of them, by the types that a file is read into.
func Rows() []Row { return rows(nil, reflect.TypeOf(catalog.DrillsAsWritten()), "") }

func rows(path []string, t reflect.Type, tag reflect.StructTag) []Row {
	if own, ok := reflect.New(t).Interface().(authored.Written); ok {
		ways := own.WrittenAs()
		return rows(path, reflect.TypeOf(ways[len(ways)-1]), tag)
	}
	var all []Row
	switch t.Kind() {
	case reflect.Pointer:
		return rows(path, t.Elem(), tag)
	case reflect.Slice:
		all = rows(path, t.Elem(), tag)
		if len(all) == 1 && len(all[0].Path) == len(path) {
			all[0].Type = reflect.SliceOf(all[0].Type)
		}
		return all
	case reflect.Map:
		list, inner, _ := strings.Cut(tag.Get("keys"), " ")
		return rows(below(path, keys[list]), t.Elem(), reflect.StructTag(fmt.Sprintf("keys:%q", inner)))
	case reflect.Struct:
		for i := range t.NumField() {
			if key := t.Field(i).Tag.Get("yaml"); key != "" {
				all = append(all, rows(below(path, key), t.Field(i).Type, t.Field(i).Tag)...)
			}
		}
		return all
	}
	return []Row{{path, t, tag}}
}

func below(path []string, key string) []string { return append(slices.Clone(path), key) }

// Had is what Base says of a row; nil where it says nothing.
func Had(path []string) any {
	var at any = parsed()
	for _, key := range path {
		at, _ = at.(map[string]any)[key]
		if at == nil {
			return nil
		}
	}
	return at
}

func parsed() map[string]any {
	var all map[string]any
	if err := yaml.Unmarshal([]byte(base), &all); err != nil {
		panic(err)
	}
	return all
}

// File is the file of a drill like Base that says something else at one path; nil says nothing there.
func File(id string, path []string, value any) authored.File {
	drill := parsed()
	drill["id"] = id
	if at := drill; len(path) > 0 {
		for _, key := range path[:len(path)-1] {
			if at[key] == nil {
				at[key] = map[string]any{}
			}
			at = at[key].(map[string]any)
		}
		if at[path[len(path)-1]] = value; value == nil {
			delete(at, path[len(path)-1])
		}
	}
	text, err := yaml.Marshal(map[string]any{"drills": []any{drill}})
	if err != nil {
		panic(err)
	}
	return authored.File{Name: id + ".yaml", Data: text}
}

// Other is a value that Base hasn't: a word of its list, of which a row with one of its own is known.
func (r Row) Other(words func(list string) []string) any {
	switch had := Had(r.Path); {
	case r.Type.Kind() == reflect.Bool:
		return r.Tag.Get("default") != "true"
	case r.Type.Kind() == reflect.Int || r.Type.Kind() == reflect.Float64:
		if had, ok := had.(int); ok {
			return had + 1
		}
		return 1
	case r.Type.Kind() == reflect.Slice:
		return []any{r.word(words, fmt.Sprint(had))}
	default:
		return r.word(words, fmt.Sprint(had))
	}
}

func (r Row) word(words func(string) []string, had string) string {
	switch list := r.Tag.Get("of"); {
	case list != "":
		for _, word := range slices.Backward(words(list)) { // the first may be what it is unless stated
			if !strings.Contains(had, word) && word != r.Tag.Get("default") {
				return word
			}
		}
		panic(fmt.Sprintf("%s has no other word", r))
	case r.Tag.Get("suggest") == "drill":
		return Base
	}
	return "another"
}
