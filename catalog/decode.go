package catalog

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"iter"
	"math"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"
)

// MaxFileBytes is the largest file that is read: far above any honest one, far below what would hurt.
const MaxFileBytes = 2 << 20

// File is one named text, from disk, an embedded folder or a request.
type File struct {
	Name string
	Data []byte
}

// Decoder reads YAML strictly into Go values: unknown keys, wrong types, duplicates, anchors and second
// documents are problems, all reported, none fatal. It remembers where each node came from, so that
// values merged from several files still point at the author's line.
type Decoder struct {
	*Report
	origin map[*yaml.Node]*Source
}

// NewDecoder starts an empty report.
func NewDecoder() *Decoder {
	return &Decoder{Report: &Report{}, origin: map[*yaml.Node]*Source{}}
}

// NodeDecoder is for types that read their own node.
type NodeDecoder interface {
	DecodeNode(d *Decoder, n *yaml.Node)
}

// Written is for the same types: it lists a value of each Go type that the node may be written as, for the schema.
type Written interface{ WrittenAs() []any }

// Parse reads one file as one document whose top is a mapping. It returns nil after reporting when it isn't, and
// nothing else can be meant.
func (d *Decoder) Parse(f File) *yaml.Node {
	src := &Source{Name: f.Name, Lines: []string{""}}
	start := Pos{src, 1, 1}
	if len(f.Data) > MaxFileBytes {
		d.Suggest(start, "make several files of it", "the file has %d bytes; the most that is read is %d", len(f.Data), MaxFileBytes)
		return nil
	}
	data := bytes.TrimPrefix(f.Data, mark)
	src.Lines = lines(strings.ToValidUTF8(string(data), "\uFFFD"))
	if !d.legible(src, data) {
		return nil
	}
	doc, err := document(string(data))
	if err != nil && !errors.Is(err, io.EOF) {
		if doc = d.mend(src, err); doc == nil {
			return nil
		}
	}
	if doc == nil || len(doc.Content) == 0 {
		d.Suggest(start, "begin with a key and a colon, or take the file away", "the file is empty but for comments")
		return nil
	}
	top := doc.Content[0]
	if !d.register(top, src) {
		return nil
	}
	return d.top(top)
}

// legible is whether the bytes of a file are text.
func (d *Decoder) legible(src *Source, data []byte) bool {
	at := Pos{src, 1, 1}
	if len(bytes.TrimSpace(data)) == 0 {
		d.Suggest(at, "begin with a key and a colon, or take the file away", "the file is empty")
		return false
	}
	if utf16 := len(data) > 1 && (data[0] == 0xff && data[1] == 0xfe || data[0] == 0xfe && data[1] == 0xff); utf16 {
		d.Suggest(at, "save it as UTF-8", "the file is text of another kind (UTF-16)")
		return false
	}
	valid := utf8.Valid(data)
	for i, line := range src.Lines {
		for col, r := range []rune(line) {
			switch here := (Pos{src, i + 1, col + 1}); {
			case !valid && r == utf8.RuneError:
				d.Suggest(here, "save the file as UTF-8", "this letter can't be read")
			case valid && (r < ' ' && r != '\t' || r == 0x7f || r > 0x7f && r < 0xa0 || r == '\uFEFF' || r == '\uFFFE' || r == '\uFFFF'):
				d.Fix(here, &Edit{From: here, To: here.after(1)}, "take it out", "a sign that can't be seen (U+%04X)", r)
			default:
				continue
			}
			return false
		}
	}
	return true
}

// document parses the first document of a text, and says so if there is a second.
func document(text string) (*yaml.Node, error) {
	dec := yaml.NewDecoder(strings.NewReader(text))
	var doc, second yaml.Node
	if err := dec.Decode(&doc); err != nil {
		return nil, err
	}
	if err := dec.Decode(&second); !errors.Is(err, io.EOF) {
		return nil, errSecond
	}
	return &doc, nil
}

var errSecond = errors.New("a second document")

// top makes sure that a document is a mapping. A list of things of one kind lacks no more than the name of the kind.
func (d *Decoder) top(n *yaml.Node) *yaml.Node {
	if n.Kind == yaml.MappingNode {
		return n
	}
	at := d.At(n)
	kind := ""
	if n.Kind == yaml.SequenceNode && n.Style&yaml.FlowStyle == 0 && at.Col == 1 {
		kind = kindOf(n.Content)
	}
	if kind == "" {
		d.Suggest(at, "begin with rules:, doses:, drills: or another key", "a file begins with a key that says what is in it; this one begins with %s", kindWord(n))
		return nil
	}
	d.Fix(at, &Edit{at, at, kind + ":\n"}, "write "+kind+": on a line above", "a file begins with a key that says what is in it; this one begins with a list")
	key := &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: kind, Line: n.Line, Column: n.Column}
	whole := &yaml.Node{Kind: yaml.MappingNode, Tag: "!!map", Line: n.Line, Column: n.Column, Content: []*yaml.Node{key, n}}
	d.Adopt(key, n)
	d.Adopt(whole, n)
	return whole
}

// register notes the origin of every node; anchors, aliases and merge keys are refused.
func (d *Decoder) register(n *yaml.Node, src *Source) bool {
	d.origin[n] = src
	switch {
	case n.Kind == yaml.AliasNode:
		d.Suggest(d.At(n), "write the value out; a text that begins with * goes in quotes", "* stands for a value from elsewhere, which is not read")
		return false
	case n.Anchor != "":
		d.Suggest(d.At(n), "write the value out where it is needed; a text that begins with & goes in quotes", "& gives a value a name, which is not read")
		return false
	case n.Tag == "!!merge":
		d.Suggest(d.At(n), "write the keys out", "<< takes over keys from elsewhere, which is not read")
		return false
	case n.Style&yaml.TaggedStyle != 0:
		d.tagged(n)
	}
	good := true
	for _, c := range n.Content {
		good = d.register(c, src) && good
	}
	if n.Kind == yaml.MappingNode {
		d.commas(n)
		d.twice(n)
	}
	return good
}

// tagged reports a value that begins with !, and reads it as the text that it must be.
func (d *Decoder) tagged(n *yaml.Node) {
	at := d.At(n)
	text := strings.TrimRight(at.rest(), " \t")
	var fix *Edit
	if n.Kind == yaml.ScalarNode && n.Style == yaml.TaggedStyle && strings.HasPrefix(text, "!") && strings.HasSuffix(text, n.Value) && !strings.Contains(text, " #") {
		n.Value, n.Tag, n.Style = text, "!!str", 0
		fix = Text{Value: text, At: at}.Requote(false)
	}
	d.Fix(at, fix, "put the text in double quotes", "! can't begin a text without quotes")
}

// commas reports decimal commas between curly brackets, where YAML takes what follows for a key.
func (d *Decoder) commas(n *yaml.Node) {
	for i := 2; i+1 < len(n.Content) && n.Style&yaml.FlowStyle != 0; i += 2 {
		val, key := n.Content[i-1], n.Content[i]
		if n.Content[i+1].Tag != "!!null" || !digits.MatchString(val.Value) || !digits.MatchString(key.Value) {
			continue
		}
		from, to := d.end(val), d.At(key)
		if from.Line != to.Line {
			continue
		}
		meant := val.Value + "." + key.Value
		d.Fix(from, &Edit{from, to, "."}, "write "+meant, "a decimal comma")
		val.Value, val.Tag = meant, "!!float"
		n.Content = slices.Delete(n.Content, i, i+2)
		i -= 2
	}
}

var digits = regexp.MustCompile(`^-?[0-9]+$`)

// twice reports keys that stand twice in a mapping. One that says the same on a line of its own goes.
func (d *Decoder) twice(n *yaml.Node) {
	seen := map[string]*yaml.Node{}
	for i := 0; i+1 < len(n.Content); i += 2 {
		key, val := n.Content[i], n.Content[i+1]
		had := seen[key.Value]
		if had == nil {
			seen[key.Value] = val
			continue
		}
		at, end := d.At(key), d.end(val)
		var fix *Edit
		if same := had.Kind == yaml.ScalarNode && val.Kind == yaml.ScalarNode && had.Value == val.Value && had.Tag == val.Tag; same &&
			n.Style&yaml.FlowStyle == 0 && at.Line == end.Line && strings.TrimSpace(end.rest()) == "" && at.Line < len(at.Source.Lines) && first(at) {
			fix = &Edit{From: Pos{at.Source, at.Line, 1}, To: Pos{at.Source, at.Line + 1, 1}}
		}
		d.Fix(at, fix, "keep one of them", "key %q stands twice", key.Value)
	}
}

// first is whether nothing but spaces stands before a place in its line.
func first(at Pos) bool {
	return strings.TrimSpace(string([]rune(at.Source.Lines[at.Line-1])[:at.Col-1])) == ""
}

// end is where a scalar ends, its quote included; a place of line 0 where that can't be told.
func (d *Decoder) end(n *yaml.Node) Pos {
	at := d.At(n)
	if n.Kind != yaml.ScalarNode || n.Style&(yaml.LiteralStyle|yaml.FoldedStyle) != 0 || at.Source.mended(n.Line) {
		return Pos{Source: at.Source}
	}
	t := Text{Value: n.Value, At: at, style: n.Style}
	marks := t.marks()
	if len(marks) == 0 {
		return Pos{Source: at.Source}
	}
	end := marks[len(marks)-1].from
	if n.Style&(yaml.DoubleQuotedStyle|yaml.SingleQuotedStyle) != 0 {
		end = end.after(1)
	}
	return end
}

// Adopt gives a node made while merging the origin of another.
func (d *Decoder) Adopt(n, from *yaml.Node) { d.origin[n] = d.origin[from] }

// At is where a node stands.
func (d *Decoder) At(n *yaml.Node) Pos {
	return d.origin[n].written(Pos{Line: n.Line, Col: n.Column})
}

// Decode reads a node into a pointer.
func (d *Decoder) Decode(n *yaml.Node, into any) {
	d.value(n, reflect.ValueOf(into).Elem())
}

func (d *Decoder) value(n *yaml.Node, v reflect.Value) {
	if v.CanAddr() {
		if own, ok := v.Addr().Interface().(NodeDecoder); ok {
			own.DecodeNode(d, n)
			return
		}
	}
	switch v.Kind() {
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		d.value(n, v.Elem())
	case reflect.Struct:
		d.structure(n, v)
	case reflect.Slice:
		d.slice(n, v)
	case reflect.Map:
		d.mapping(n, v)
	default:
		d.scalar(n, v)
	}
}

func (d *Decoder) structure(n *yaml.Node, v reflect.Value) {
	if at := v.FieldByName("At"); at.IsValid() && at.Type() == reflect.TypeFor[Pos]() {
		at.Set(reflect.ValueOf(d.At(n)))
	}
	shape := shapeOf(v.Type())
	if n.Kind != yaml.MappingNode {
		names, rest := shape.names, "}"
		if len(names) > 5 {
			names, rest = names[:5], ", …}"
		}
		suggestion := "write {" + strings.Join(names, ": …, ") + ": …" + rest + ", or one a line"
		if n.Kind == yaml.SequenceNode && len(n.Content) == 1 && n.Content[0].Kind == yaml.MappingNode {
			suggestion = "take the dash or the square brackets away"
		}
		d.Suggest(d.At(n), suggestion, "here stands %s; it must be keys with values", kindWord(n))
		return
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		key, val := n.Content[i], n.Content[i+1]
		f, ok := shape.fields[key.Value]
		if !ok {
			if f, ok = shape.fields[d.unknownKey(n, key, shape.names)]; !ok {
				continue
			}
		}
		if val.Tag == "!!null" {
			continue
		}
		before := d.Doubtful()
		d.value(val, v.Field(f.index))
		if f.limited && d.Doubtful() == before {
			d.within(key.Value, val, v.Field(f.index), f.least, f.most)
		}
	}
}

// unknownKey reports a key, and returns the one that it must be; "" when that isn't certain, or stands there too.
func (d *Decoder) unknownKey(n, key *yaml.Node, known []string) string {
	if sure := Misspelt(key.Value, known); sure != "" && place(n, sure) >= 0 {
		d.Suggest(d.At(key), fmt.Sprintf("%q stands here too", sure), "unknown key %q", key.Value)
		return ""
	}
	return d.Unknown(d.At(key), "key", key.Value, known)
}

// within reports a number, or those of a list, outside the limits of their field.
func (d *Decoder) within(field string, n *yaml.Node, v reflect.Value, least, most float64) {
	at, f := d.At(n), 0.0
	switch v.Kind() {
	case reflect.Pointer:
		d.within(field, n, v.Elem(), least, most)
		return
	case reflect.Slice:
		for i := range v.Len() {
			item := n
			if i < len(n.Content) {
				item = n.Content[i]
			}
			d.within(field, item, v.Index(i), least, most)
		}
		return
	case reflect.Int:
		f = float64(v.Int())
	default:
		f = v.Float()
	}
	if f < least || f > most {
		d.Suggest(at, field+" goes "+fromTo(least, most), "%s is %g", field, f)
	}
}

func fromTo(least, most float64) string {
	switch {
	case math.IsInf(most, 1):
		return fmt.Sprintf("from %g up", least)
	case math.IsInf(least, -1):
		return fmt.Sprintf("up to %g", most)
	}
	return fmt.Sprintf("from %g to %g", least, most)
}

// Unknown reports a word that isn't one of the known, with the nearest or the whole short list. Where only one can be
// meant it returns that.
func (r *Report) Unknown(at Pos, what, word string, known []string) string {
	sure := Misspelt(word, known)
	if sure == "" {
		r.Suggest(at, DidYouMean(word, known), "unknown %s %q", what, cut(word))
		return ""
	}
	r.Fix(at, Replace(at, word, sure), fmt.Sprintf("did you mean %q?", sure), "unknown %s %q", what, cut(word))
	return sure
}

// cut shortens what a message repeats of an author's text.
func cut(text string) string {
	const most = 60
	if runes := []rune(text); len(runes) > most {
		return string(runes[:most]) + "…"
	}
	return text
}

// DidYouMean names the nearest known word; or all when they are few, those that are like it when some are.
func DidYouMean(word string, known []string) string {
	if near := Nearest(word, known); near != "" {
		return fmt.Sprintf("did you mean %q?", near)
	}
	if len(known) > 0 && len(known) <= 20 {
		return "known: " + strings.Join(known, ", ")
	}
	switch like := NearestFew(word, known, 5); {
	case len(word) < 3 || len(like) == 0:
		return ""
	case len(like) == 1:
		return "like it is " + like[0]
	default:
		return "like it are " + strings.Join(like, ", ")
	}
}

func (d *Decoder) slice(n *yaml.Node, v reflect.Value) {
	items := n.Content
	if n.Kind != yaml.SequenceNode {
		items = d.listed(n, v.Type().Elem())
	}
	out := reflect.MakeSlice(v.Type(), 0, len(items))
	for _, item := range items {
		one := reflect.New(v.Type().Elem()).Elem()
		d.value(item, one)
		if _, own := one.Addr().Interface().(NodeDecoder); one.Kind() == reflect.Struct && item.Kind != yaml.MappingNode && !own {
			continue // reported; nothing more can be said of it
		}
		out = reflect.Append(out, one)
	}
	v.Set(out)
}

// listed reports a value where a list must be, and returns what the list must hold if that is certain.
func (d *Decoder) listed(n *yaml.Node, of reflect.Type) []*yaml.Node {
	at, end := d.At(n), d.end(n)
	ends := twoNumbers.FindStringSubmatch(n.Value)
	switch {
	case n.Kind == yaml.MappingNode && n.Style&yaml.FlowStyle == 0:
		d.Suggest(at, "begin each item with a dash and a space, and its other lines below the first key", "here stands %s; it must be a list", kindWord(n))
	case n.Kind != yaml.ScalarNode || n.Tag == "!!null" || at.Line != end.Line:
		d.Suggest(at, "write [a, b] or one item a line with a dash", "here stands %s; it must be a list", kindWord(n))
	case ends != nil && (of.Kind() == reflect.Int || of.Kind() == reflect.Float64):
		list := "[" + ends[1] + ", " + ends[2] + "]"
		d.Fix(at, &Edit{at, end, list}, "write "+list, "here stands %s; it must be a list of two numbers", kindWord(n))
		return []*yaml.Node{d.like(n, ends[1]), d.like(n, ends[2])}
	case wholeNumber.MatchString(n.Value) && (of.Kind() == reflect.Int || of.Kind() == reflect.Float64):
		list := "[" + n.Value + ", " + n.Value + "]"
		d.Fix(at, &Edit{at, end, list}, "write "+list, "here stands %s; it must be a list of two numbers", kindWord(n))
		return []*yaml.Node{n, n}
	case (of.Kind() != reflect.Struct || of == reflect.TypeFor[Text]()) && !strings.ContainsAny(n.Value, ",[]{}"):
		written := string([]rune(at.rest())[:end.Col-at.Col])
		d.Fix(at, &Edit{at, end, "[" + written + "]"}, "write ["+cut(written)+"]", "here stands %s; it must be a list", kindWord(n))
		return []*yaml.Node{n}
	default:
		d.Suggest(at, "write [a, b] or one item a line with a dash", "here stands %s; it must be a list", kindWord(n))
	}
	return nil
}

// twoNumbers is how people write two ends.
var twoNumbers = regexp.MustCompile(`^([0-9]+) *(?:-|\x{2013}|to|\.\.) *([0-9]+)$`)

var wholeNumber = regexp.MustCompile(`^[0-9]+$`)

func (d *Decoder) like(n *yaml.Node, value string) *yaml.Node {
	one := &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!int", Value: value, Line: n.Line, Column: n.Column}
	d.Adopt(one, n)
	return one
}

// only is the single value of a list that stands where one value must be, after reporting it; else the node itself.
func (d *Decoder) only(n *yaml.Node) *yaml.Node {
	if n.Kind == yaml.MappingNode && n.Style&yaml.FlowStyle != 0 && len(n.Content) == 2 && n.Content[1].Tag == "!!null" {
		at := d.At(n)
		if text := braced.FindString(at.rest()); text != "" {
			d.Fix(at, &Edit{at, at.after(utf8.RuneCountInString(text)), inQuotes(text)}, "put the text in double quotes", "a { begins keys with values, not a text")
			one := &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: text, Line: n.Line, Column: n.Column}
			d.Adopt(one, n)
			return one
		}
	}
	if n.Kind != yaml.SequenceNode || len(n.Content) != 1 || n.Content[0].Kind != yaml.ScalarNode {
		return n
	}
	one := n.Content[0]
	at, end := d.At(n), d.end(one)
	closing := regexp.MustCompile(`^ *]`).FindString(end.rest())
	if from := d.At(one); n.Style&yaml.FlowStyle != 0 && closing != "" && at.Line == end.Line && from.Line == at.Line {
		written := string([]rune(from.rest())[:end.Col-from.Col])
		d.Fix(at, &Edit{at, end.after(len(closing)), written}, "write "+cut(written), "here stands a list; it must be one value")
	} else {
		d.Suggest(at, "write "+cut(one.Value), "here stands a list; it must be one value")
	}
	return one
}

// braced is a value in braces that takes up the rest of its line.
var braced = regexp.MustCompile(`^\{[^{}"\\]+\}$`)

func (d *Decoder) mapping(n *yaml.Node, v reflect.Value) {
	if n.Kind != yaml.MappingNode {
		d.Suggest(d.At(n), "write {key: value}", "here stands %s; it must be keys with values", kindWord(n))
		return
	}
	v.Set(reflect.MakeMap(v.Type()))
	for i := 0; i+1 < len(n.Content); i += 2 {
		item := reflect.New(v.Type().Elem()).Elem()
		d.value(n.Content[i+1], item)
		v.SetMapIndex(reflect.ValueOf(n.Content[i].Value).Convert(v.Type().Key()), item)
	}
}

// Most is the greatest whole number that a field may have which names no limits of its own.
const Most = 1_000_000_000

func (d *Decoder) scalar(n *yaml.Node, v reflect.Value) {
	if n = d.only(n); n.Kind != yaml.ScalarNode {
		d.Add(d.At(n), "here stands %s; it must be %s", kindWord(n), typeWord(v.Kind()))
		return
	}
	switch v.Kind() {
	case reflect.String:
		if n.Tag == "!!null" {
			d.Add(d.At(n), "the value is missing")
		}
		v.SetString(n.Value)
	case reflect.Bool:
		v.SetBool(d.truth(n))
	case reflect.Int:
		f, ok := d.number(n)
		if ok && f != math.Trunc(f) {
			d.Add(d.At(n), "%q is not a whole number", cut(n.Value))
		}
		v.SetInt(int64(f))
	case reflect.Float64:
		f, _ := d.number(n)
		v.SetFloat(f)
	default:
		panic(fmt.Sprintf("decode into %s", v.Type()))
	}
}

// truths are how people write yes and no.
var truths = map[string]string{"yes": "true", "y": "true", "on": "true", "true": "true", "no": "false", "n": "false", "off": "false", "false": "false"}

func (d *Decoder) truth(n *yaml.Node) bool {
	at := d.At(n)
	meant, ok := truths[strings.ToLower(n.Value)]
	switch {
	case !ok:
		d.Suggest(at, "write true or false", "%q is neither true nor false", cut(n.Value))
	case meant != n.Value || n.Tag != "!!bool":
		var fix *Edit
		if end := d.end(n); end.Line == at.Line {
			fix = &Edit{at, end, meant}
		}
		d.Fix(at, fix, "write "+meant, "%s stands where true or false must be", d.written(n))
	}
	return meant == "true"
}

// written is a scalar as its author wrote it.
func (d *Decoder) written(n *yaml.Node) string {
	if n.Style&(yaml.DoubleQuotedStyle|yaml.SingleQuotedStyle) != 0 {
		return strconv.Quote(cut(n.Value))
	}
	return cut(n.Value)
}

// number reads a number, and what must be one.
func (d *Decoder) number(n *yaml.Node) (float64, bool) {
	meant, message := n.Value, ""
	switch figure := unit.FindStringSubmatch(n.Value); {
	case n.Style&(yaml.DoubleQuotedStyle|yaml.SingleQuotedStyle) != 0 && decimal(n.Value):
		message = "a number stands in quotes"
	case decimal(n.Value):
	case figure != nil && figure[2] == "°":
		meant, message = figure[1], fmt.Sprintf("%q has a degree sign", n.Value)
	case figure != nil:
		meant, message = figure[1], fmt.Sprintf("%q has a unit; the key says which", n.Value)
	case comma.MatchString(n.Value):
		meant, message = strings.Replace(n.Value, ",", ".", 1), fmt.Sprintf("%q has a decimal comma", n.Value)
	case thousands.MatchString(n.Value):
		d.Suggest(d.At(n), "write figures and, for a fraction, a point", "%q has a comma", cut(n.Value))
		return 0, false
	case dash.MatchString(n.Value):
		meant, message = dash.ReplaceAllString(n.Value, "-$1"), fmt.Sprintf("%q begins with a long dash", n.Value)
	case twoNumbers.MatchString(n.Value):
		d.Suggest(d.At(n), "write one number", "%q is two numbers", n.Value)
		return 0, false
	default:
		d.Add(d.At(n), "%q is not a number", cut(n.Value))
		return 0, false
	}
	if message != "" {
		d.Fix(d.At(n), d.instead(n, meant, figureSure(n.Value)), "write "+meant, "%s", message)
	}
	f, err := strconv.ParseFloat(meant, 64)
	if err != nil || !(math.Abs(f) <= Most) {
		d.Suggest(d.At(n), fmt.Sprintf("the most is %d", Most), "%s is too great", cut(n.Value))
		return 0, false
	}
	return f, true
}

// Numbers as people write them.
var (
	unit      = regexp.MustCompile(`^(-?[0-9]+(?:\.[0-9]+)?) *(°|%|[[:alpha:]]+)$`)
	comma     = regexp.MustCompile(`^-?[0-9]+,(?:[0-9]{1,2}|[0-9]{4,})$`)
	thousands = regexp.MustCompile(`^-?[0-9]+(?:,[0-9]{3})+$`)
	dash      = regexp.MustCompile(`^[\x{2010}-\x{2015}\x{2212}]([0-9]+(?:\.[0-9]+)?)$`)
)

// figureSure is false of units that may be other than those of the key.
func figureSure(value string) bool {
	found := unit.FindStringSubmatch(value)
	return found == nil || slices.Contains([]string{"°", "deg", "degrees", "%"}, found[2])
}

// instead is the edit that writes another text for a scalar; nil where it isn't certain, or can't be told where it ends.
func (d *Decoder) instead(n *yaml.Node, by string, sure bool) *Edit {
	at, end := d.At(n), d.end(n)
	if !sure || at.Line != end.Line {
		return nil
	}
	return &Edit{at, end, by}
}

// decimal is whether a text is a number in figures.
func decimal(s string) bool {
	_, err := strconv.ParseFloat(s, 64)
	return (err == nil || errors.Is(err, strconv.ErrRange)) && figures.MatchString(s)
}

var figures = regexp.MustCompile(`^[-+]?[0-9.]+(?:[eE][-+]?[0-9]+)?$`)

// Entry is one key of a mapping whose order matters.
type Entry[T any] struct {
	Key   string
	At    Pos
	Value T
}

// Entries is a mapping in the order it was written.
type Entries[T any] []Entry[T]

// WrittenAs implements Written: a key without a value is passed over.
func (e *Entries[T]) WrittenAs() []any { return []any{map[string]*T{}} }

// DecodeNode implements NodeDecoder.
func (e *Entries[T]) DecodeNode(d *Decoder, n *yaml.Node) {
	if n.Kind != yaml.MappingNode {
		d.Suggest(d.At(n), "write {key: value}", "here stands %s; it must be keys with values", kindWord(n))
		return
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		entry := Entry[T]{Key: n.Content[i].Value, At: d.At(n.Content[i])}
		if n.Content[i+1].Tag == "!!null" {
			continue
		}
		d.Decode(n.Content[i+1], &entry.Value)
		*e = append(*e, entry)
	}
}

// Several is a list that may be written as its only item.
type Several[T any] []T

// WrittenAs implements Written.
func (s *Several[T]) WrittenAs() []any {
	var one T
	return []any{one, []T{}}
}

// DecodeNode implements NodeDecoder.
func (s *Several[T]) DecodeNode(d *Decoder, n *yaml.Node) {
	items := []*yaml.Node{n}
	if n.Kind == yaml.SequenceNode {
		items = n.Content
	}
	for _, item := range items {
		var v T
		d.Decode(item, &v)
		*s = append(*s, v)
	}
}

// fields are those that a file may give, each under its key.
func fields(t reflect.Type) iter.Seq2[string, reflect.StructField] {
	return func(yield func(string, reflect.StructField) bool) {
		for i := range t.NumField() {
			if key := t.Field(i).Tag.Get("yaml"); key != "" && !yield(key, t.Field(i)) {
				return
			}
		}
	}
}

// shape is what a struct may be written as.
type shape struct {
	fields map[string]field
	names  []string // sorted
}

// field of a struct. A tag range:"0..10" holds its numbers, or each of a list, within these.
type field struct {
	index       int
	limited     bool
	least, most float64
}

var shapes sync.Map // reflect.Type to *shape

func shapeOf(t reflect.Type) *shape {
	if had, ok := shapes.Load(t); ok {
		return had.(*shape)
	}
	s := &shape{fields: map[string]field{}}
	for name, of := range fields(t) {
		f := field{index: of.Index[0], least: math.Inf(-1), most: math.Inf(1)}
		if least, most := bounds[float64](of.Tag.Get("range")); holdsNumbers(of.Type) {
			if least != nil {
				f.limited, f.least = true, *least
			}
			if most != nil {
				f.limited, f.most = true, *most
			}
		}
		s.fields[name] = f
		s.names = append(s.names, name)
	}
	slices.Sort(s.names)
	shapes.Store(t, s)
	return s
}

// holdsNumbers is true of a number, one that may be left out, and a list of them.
func holdsNumbers(t reflect.Type) bool {
	switch t.Kind() {
	case reflect.Int, reflect.Float64:
		return true
	case reflect.Pointer, reflect.Slice:
		return holdsNumbers(t.Elem())
	}
	return false
}

func kindWord(n *yaml.Node) string {
	switch {
	case n.Kind == yaml.MappingNode:
		return "keys with values"
	case n.Kind == yaml.SequenceNode:
		return "a list"
	case n.Tag == "!!null":
		return "nothing"
	default:
		return strconv.Quote(cut(n.Value))
	}
}

func typeWord(k reflect.Kind) string {
	switch k {
	case reflect.Bool:
		return "true or false"
	case reflect.Int, reflect.Float64:
		return "a number"
	default:
		return "a text"
	}
}
