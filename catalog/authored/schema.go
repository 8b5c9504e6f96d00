package authored

import (
	"encoding/json"
	"fmt"
	"path"
	"reflect"
	"slices"
	"strconv"
	"strings"
)

// Dialect is the version of JSON Schema that is written.
const Dialect = "https://json-schema.org/draft/2020-12/schema"

// Schema is a JSON Schema as far as our files need one. As JSON it is the same bytes every time.
type Schema struct {
	Dialect     string             `json:"$schema,omitempty"`
	Title       string             `json:"title,omitempty"`
	Description string             `json:"description,omitempty"`
	Ref         string             `json:"$ref,omitempty"`
	Types       Types              `json:"type,omitempty"`
	Const       string             `json:"const,omitempty"`
	Enum        []any              `json:"enum,omitempty"` // words, and nil where nothing may stand
	Pattern     string             `json:"pattern,omitempty"`
	MinLength   *int               `json:"minLength,omitempty"`
	MaxLength   *int               `json:"maxLength,omitempty"`
	Minimum     *float64           `json:"minimum,omitempty"`
	Maximum     *float64           `json:"maximum,omitempty"`
	Items       *Schema            `json:"items,omitempty"`
	MinItems    *int               `json:"minItems,omitempty"`
	MaxItems    *int               `json:"maxItems,omitempty"`
	Properties  map[string]*Schema `json:"properties,omitempty"`
	// Others are the keys that Properties doesn't name: another schema, or false. As nil any may stand there.
	Others   any                `json:"additionalProperties,omitempty"`
	MinKeys  *int               `json:"minProperties,omitempty"`
	MaxKeys  *int               `json:"maxProperties,omitempty"`
	Required []string           `json:"required,omitempty"`
	AnyOf    []*Schema          `json:"anyOf,omitempty"`
	AllOf    []*Schema          `json:"allOf,omitempty"`
	Not      *Schema            `json:"not,omitempty"`
	If       *Schema            `json:"if,omitempty"`
	Then     *Schema            `json:"then,omitempty"`
	Defs     map[string]*Schema `json:"$defs,omitempty"`
}

// Types are the JSON types that a value may have; a single one is written without a list.
type Types []string

// MarshalJSON implements json.Marshaler.
func (t Types) MarshalJSON() ([]byte, error) {
	if len(t) == 1 {
		return json.Marshal(t[0])
	}
	return json.Marshal([]string(t))
}

// Shaped is for structs whose fields depend on each other: it adds to the schema what their tags can't say.
type Shaped interface{ Shape(s *Schema) }

// Shapes writes schemas by the walk that the Decoder takes, over the same Go types. What a type leaves open stands in the
// tags of the field that holds it, and goes down to the innermost value:
//
//	doc:"…"         what an editor shows
//	need:"yes"      a file without it is refused
//	of:"muscle"     a word of that list
//	suggest:"drill" likewise, but others are let through: words that the same file may add
//	keys:"region"   the keys of a mapping are words of that list; a mapping of mappings names two
//	id:"kebab"      an id with hyphens, or "snake" with underscores
//	type:"string"   the JSON types that may be written; without it a text may look like a number or a yes
//	range:"0..3"    the least and the most that a number may be; either may be left out
//	items:"1..3"    likewise, how many items a list may have
type Shapes struct {
	// Words lists what a name in a tag stands for.
	Words func(name string) []string
	Defs  map[string]*Schema
}

// Of is the schema of a type under the tags of a field.
func (w *Shapes) Of(t reflect.Type, tag reflect.StructTag) *Schema {
	if own, ok := reflect.New(t).Interface().(Written); ok {
		return w.alternatives(own.WrittenAs(), tag)
	}
	if _, ok := reflect.New(t).Interface().(NodeDecoder); ok {
		panic(fmt.Sprintf("%s reads its own node and doesn't say how it is written", t))
	}
	switch t.Kind() {
	case reflect.Pointer:
		return w.Of(t.Elem(), tag)
	case reflect.Struct:
		return w.structure(t)
	case reflect.Slice:
		list := &Schema{Types: Types{"array"}, Items: w.Of(t.Elem(), without(tag, "items"))}
		list.MinItems, list.MaxItems = bounds[int](tag.Get("items"))
		return list
	case reflect.Map:
		return w.mapping(t, tag)
	case reflect.Interface:
		return &Schema{} // anything
	case reflect.Bool:
		return &Schema{Types: Types{"boolean"}}
	case reflect.Int, reflect.Float64:
		number := &Schema{Types: Types{"number"}}
		if t.Kind() == reflect.Int {
			number.Types = Types{"integer"}
		}
		number.Minimum, number.Maximum = bounds[float64](tag.Get("range"))
		return number
	default:
		return w.text(tag)
	}
}

func (w *Shapes) alternatives(values []any, tag reflect.StructTag) *Schema {
	var all []*Schema
	for _, v := range values {
		all = append(all, w.Of(reflect.TypeOf(v), tag))
	}
	if len(all) == 1 {
		return all[0]
	}
	return &Schema{AnyOf: all}
}

// structure is a mapping of known keys. A type with a name is written once.
func (w *Shapes) structure(t reflect.Type) *Schema {
	if t.Name() == "" {
		return w.object(t)
	}
	return w.Define(path.Base(t.PkgPath())+"."+t.Name(), func() *Schema { return w.object(t) })
}

// Define writes a schema once, under a name.
func (w *Shapes) Define(name string, make func() *Schema) *Schema {
	if w.Defs[name] == nil {
		w.Defs[name] = &Schema{} // so that a type may hold itself
		*w.Defs[name] = *make()
	}
	return &Schema{Ref: "#/$defs/" + name}
}

func (w *Shapes) object(t reflect.Type) *Schema {
	s := &Schema{Types: Types{"object"}, Properties: map[string]*Schema{}, Others: false}
	for key, f := range fields(t) {
		value := w.Of(f.Type, f.Tag)
		if f.Tag.Get("need") != "" {
			s.Required = append(s.Required, key)
		} else {
			value = value.orNothing()
		}
		value.Description = f.Tag.Get("doc")
		s.Properties[key] = value
	}
	if own, ok := reflect.New(t).Interface().(Shaped); ok {
		own.Shape(s)
	}
	return s
}

// mapping is a mapping of free keys, or of the words of a list. A pointer is a value that may be left out.
func (w *Shapes) mapping(t reflect.Type, tag reflect.StructTag) *Schema {
	list, inner, _ := strings.Cut(tag.Get("keys"), " ")
	rest := without(tag, "keys")
	if inner != "" {
		rest += reflect.StructTag(fmt.Sprintf(` keys:%q`, inner))
	}
	value := w.Of(t.Elem(), rest)
	if t.Elem().Kind() == reflect.Pointer {
		value = value.orNothing()
	}
	if list == "" {
		return &Schema{Types: Types{"object"}, Others: value}
	}
	if value.AnyOf != nil { // it is long, and the same for every key
		name, whole := "each."+typeName.Replace(t.Elem().String()), value
		value = w.Define(name, func() *Schema { return whole })
		if !reflect.DeepEqual(w.Defs[name], whole) {
			panic(fmt.Sprintf("%s is written in two ways", t.Elem()))
		}
	}
	return Keyed(w.Words(list), func(string) *Schema { return value })
}

// typeName makes a name for a schema of that of a Go type with parameters.
var typeName = strings.NewReplacer("drillwright/", "", "*", "", "[", ".", "]", "")

// Keyed is a mapping whose keys are words of a list.
func Keyed(keys []string, value func(key string) *Schema) *Schema {
	s := &Schema{Types: Types{"object"}, Properties: map[string]*Schema{}, Others: false}
	for _, key := range keys {
		s.Properties[key] = value(key)
	}
	return s
}

func (w *Shapes) text(tag reflect.StructTag) *Schema {
	switch {
	case tag.Get("of") != "":
		return w.OneOf(tag.Get("of"))
	case tag.Get("suggest") != "":
		return &Schema{AnyOf: []*Schema{w.OneOf(tag.Get("suggest")), {Types: Types{"string"}}}}
	case tag.Get("id") == "kebab":
		return &Schema{Types: Types{"string"}, Pattern: KebabID.String()}
	case tag.Get("id") == "snake":
		return &Schema{Types: Types{"string"}, Pattern: SnakeID.String()}
	case tag.Get("type") != "":
		return &Schema{Types: strings.Fields(tag.Get("type"))}
	}
	return FreeText()
}

// FreeText is any text; one that looks like a number or a yes is read as it is written.
func FreeText() *Schema { return &Schema{Types: Types{"string", "number", "boolean"}} }

// OneOf is a word of a list. A long list is written once.
func (w *Shapes) OneOf(list string) *Schema {
	known := w.Words(list)
	if known == nil {
		panic(fmt.Sprintf("there is no list of words %q", list))
	}
	enum := func() *Schema {
		s := &Schema{Types: Types{"string"}}
		for _, word := range known {
			s.Enum = append(s.Enum, word)
		}
		return s
	}
	if len(known) <= 8 {
		return enum()
	}
	return w.Define("word."+strings.ReplaceAll(list, " ", "_"), enum)
}

// orNothing lets a key stand without a value, which is as good as leaving it out.
func (s *Schema) orNothing() *Schema {
	switch {
	case s.Ref != "":
		return &Schema{AnyOf: []*Schema{s, {Types: Types{"null"}}}}
	case s.AnyOf != nil:
		s.AnyOf = append(s.AnyOf, &Schema{Types: Types{"null"}})
	default:
		s.Types = append(s.Types, "null")
		if s.Enum != nil {
			s.Enum = append(s.Enum, nil)
		}
	}
	return s
}

// without is a tag less one of its keys.
func without(tag reflect.StructTag, key string) reflect.StructTag {
	if value, ok := tag.Lookup(key); ok {
		return reflect.StructTag(strings.Replace(string(tag), fmt.Sprintf("%s:%q", key, value), "", 1))
	}
	return tag
}

// bounds reads "least..most".
func bounds[N int | float64](text string) (least, most *N) {
	ends := strings.SplitN(text, "..", 2)
	read := func(s string) *N {
		f, err := strconv.ParseFloat(s, 64)
		if s != "" && err != nil {
			panic(fmt.Sprintf("bounds %q: %v", text, err))
		} else if s == "" {
			return nil
		}
		n := N(f)
		return &n
	}
	return read(ends[0]), read(ends[len(ends)-1])
}

// With adds a condition that holds between the keys: where one has its say, the other must too.
func (s *Schema) With(condition, then *Schema) {
	s.AllOf = append(s.AllOf, &Schema{If: condition, Then: then})
}

// Has is the condition that a mapping has all of some keys.
func Has(keys ...string) *Schema { return &Schema{Required: keys} }

// HasNone is the condition that a mapping has none of some keys.
func HasNone(keys ...string) *Schema {
	var any []*Schema
	for _, key := range slices.Sorted(slices.Values(keys)) {
		any = append(any, Has(key))
	}
	return &Schema{Not: &Schema{AnyOf: any}}
}
