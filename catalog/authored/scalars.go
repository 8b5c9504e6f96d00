package authored

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"
)

// listed reports a value where a list must be, and returns what the list must hold if that is certain.
func (d *Decoder) listed(n *yaml.Node, of reflect.Type) []*yaml.Node {
	at, end := d.At(n), d.end(n)
	ends := twoNumbers.FindStringSubmatch(n.Value)
	switch {
	case n.Kind == yaml.MappingNode && n.Style&yaml.FlowStyle == 0:
		d.Suggest(at, "begin each item with a dash and a space, and its other lines below the first key", "here stands %s; it must be a list",
			kindWord(n))
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
		written := string([]rune(at.Rest())[:end.Col-at.Col])
		d.Fix(at, &Edit{at, end, "[" + written + "]"}, "write ["+Shortened(written)+"]", "here stands %s; it must be a list", kindWord(n))
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
		if text := braced.FindString(at.Rest()); text != "" {
			d.Fix(at, &Edit{at, at.After(utf8.RuneCountInString(text)), inQuotes(text)}, "put the text in double quotes",
				"a { begins keys with values, not a text")
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
	closing := regexp.MustCompile(`^ *]`).FindString(end.Rest())
	if from := d.At(one); n.Style&yaml.FlowStyle != 0 && closing != "" && at.Line == end.Line && from.Line == at.Line {
		written := string([]rune(from.Rest())[:end.Col-from.Col])
		d.Fix(at, &Edit{at, end.After(len(closing)), written}, "write "+Shortened(written), "here stands a list; it must be one value")
	} else {
		d.Suggest(at, "write "+Shortened(one.Value), "here stands a list; it must be one value")
	}
	return one
}

// braced is a value in braces that takes up the rest of its line.
var braced = regexp.MustCompile(`^\{[^{}"\\]+\}$`)

// How ids are written: drills and rules as words-and-hyphens, terms of the vocabulary as words_and_underscores, with a point at most.
var (
	KebabID = regexp.MustCompile(`^[a-z][a-z0-9]*(-[a-z0-9]+)*$`)
	SnakeID = regexp.MustCompile(`^[a-z][a-z0-9]*(_[a-z0-9]+)*(\.[a-z][a-z0-9]*(_[a-z0-9]+)*)?$`)
)

// mostWhole is the greatest whole number that a field may have which names no limits of its own.
const mostWhole = 1_000_000_000

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
			d.Add(d.At(n), "%q is not a whole number", Shortened(n.Value))
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
var truths = map[string]string{"yes": "true", "y": "true", "on": "true", "true": "true", "no": "false", "n": "false", "off": "false",
	"false": "false"}

func (d *Decoder) truth(n *yaml.Node) bool {
	at := d.At(n)
	meant, ok := truths[strings.ToLower(n.Value)]
	switch {
	case !ok:
		d.Suggest(at, "write true or false", "%q is neither true nor false", Shortened(n.Value))
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
		return strconv.Quote(Shortened(n.Value))
	}
	return Shortened(n.Value)
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
		d.Suggest(d.At(n), "write figures and, for a fraction, a point", "%q has a comma", Shortened(n.Value))
		return 0, false
	case dash.MatchString(n.Value):
		meant, message = dash.ReplaceAllString(n.Value, "-$1"), fmt.Sprintf("%q begins with a long dash", n.Value)
	case twoNumbers.MatchString(n.Value):
		d.Suggest(d.At(n), "write one number", "%q is two numbers", n.Value)
		return 0, false
	default:
		d.Add(d.At(n), "%q is not a number", Shortened(n.Value))
		return 0, false
	}
	if message != "" {
		d.Fix(d.At(n), d.instead(n, meant, figureSure(n.Value)), "write "+meant, "%s", message)
	}
	f, err := strconv.ParseFloat(meant, 64)
	if err != nil || !(math.Abs(f) <= mostWhole) {
		d.Suggest(d.At(n), fmt.Sprintf("the most is %d", mostWhole), "%s is too great", Shortened(n.Value))
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
