package catalog

import (
	"cmp"
	"fmt"
	"reflect"
	"slices"

	"drillwright/catalog/authored"
)

// Field is a field that a drill has as it was written: a row of rawDrill beside the field of Drill with the same name, from which
// its copying follows, what rules read of it, and its place in the contract. Beside the tags of authored.Shapes a row may have
//
//	default:"train"  what it is where nothing is stated
type Field struct {
	// Key is how files and the contract call it, after the key that it stands under: "grip.effort".
	Key string
	// Of is the list that its words are of, a kind of term or one of the code; empty for a number, a yes-or-no and a free text.
	Of string

	raw, own []int         // where it stands in rawDrill and in Drill
	unstated reflect.Value // what it is then
}

// workedOut are the rows of rawDrill that Drill doesn't have as they were written; drillReader.drill works out what they mean.
var workedOut = []string{"Use", "Pattern", "Tool", "Regions", "Arcs", "Stressors"}

var fields = fieldsOf(reflect.TypeFor[rawDrill](), reflect.TypeFor[Drill](), Field{})

// Fields are those that drills have as they were written.
func Fields() []Field { return fields }

// FieldOf is the field of a key. One that isn't there is our mistake.
func FieldOf(key string) Field {
	i := slices.IndexFunc(fields, func(f Field) bool { return f.Key == key })
	if i < 0 {
		panic(fmt.Sprintf("drills have no field %q as it was written", key))
	}
	return fields[i]
}

// fieldsOf pairs the rows of a struct with the fields of another that are called the same. A row without one is our mistake.
func fieldsOf(raw, own reflect.Type, under Field) []Field {
	var all []Field
	for i := range raw.NumField() {
		row := raw.Field(i)
		key, written := row.Tag.Lookup("yaml")
		if !written || len(under.raw) == 0 && slices.Contains(workedOut, row.Name) {
			continue
		}
		to, ok := own.FieldByName(row.Name)
		if !ok {
			panic(fmt.Sprintf("%s has no field %s, which %s has", own, row.Name, raw))
		}
		f := Field{Key: under.Key + key, Of: row.Tag.Get("of"), raw: slices.Concat(under.raw, row.Index), own: slices.Concat(under.own, to.Index)}
		if to.Type.Kind() == reflect.Struct {
			f.Key += "."
			all = append(all, fieldsOf(row.Type, to.Type, f)...)
			continue
		}
		f.unstated = reflect.New(to.Type).Elem()
		if text, ok := row.Tag.Lookup("default"); ok {
			if _, err := fmt.Sscan(text, f.unstated.Addr().Interface()); err != nil {
				panic(fmt.Sprintf("the default of %s: %v", f.Key, err))
			}
		}
		all = append(all, f)
	}
	return all
}

// In is the field of a drill: a pointer to it, of type *string, *Sides, *bool, *int, *float64, **float64, *[]string or, of what is
// cited, *[]authored.Text.
func (f Field) In(d *Drill) any {
	return reflect.ValueOf(d).Elem().FieldByIndex(f.own).Addr().Interface()
}

// field copies what was written, its words as they must be meant.
func (r *drillReader) field(f Field, raw, d reflect.Value) {
	from, to := raw.FieldByIndex(f.raw), d.FieldByIndex(f.own)
	switch written := from.Addr().Interface().(type) {
	case *authored.Text:
		to.SetString(r.word(*written, f.Of))
	case *[]authored.Text:
		to.Set(reflect.ValueOf(r.words(*written, f.Of)))
	case *authored.Several[authored.Text]:
		to.Set(reflect.ValueOf(cites(*written)))
	case **bool: // false may be what is stated
		if *written != nil {
			to.SetBool(**written)
			return
		}
	default:
		to.Set(from)
	}
	if to.IsZero() {
		to.Set(f.unstated)
	}
}

// word is a word of a list, or of any where none is named: what is written, or what must be meant by it.
func (r *drillReader) word(t authored.Text, list string) string {
	known := r.voc.Words(list)
	if t.Value == "" || list == "" || slices.Contains(known, t.Value) {
		return t.Value
	}
	return cmp.Or(r.Unknown(t.At, list, t.Value, known), t.Value)
}

// words are those of a list, the terms of the vocabulary each once.
func (r *drillReader) words(list []authored.Text, of string) []string {
	var out []string
	once := IsKind(of)
	for _, t := range list {
		if once && slices.Contains(out, t.Value) {
			r.Suggest(t.At, "take one out", "%s %q stands twice", of, t.Value)
			continue
		}
		out = append(out, r.word(t, of))
	}
	return out
}
