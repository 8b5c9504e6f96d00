// Package schematest helps tests to hold a schema against the reader of the same files.
package schematest

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strconv"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"
	"pgregory.net/rapid"

	"drillwright/catalog/authored"
)

// Compiled is a schema as a validator of another make reads it.
func Compiled(t require.TestingT, s *authored.Schema) *jsonschema.Schema {
	text, err := json.Marshal(s)
	require.NoError(t, err)
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	c.DefaultDraft(jsonschema.Draft2020)
	require.NoError(t, c.AddResource("file.json", doc))
	out, err := c.Compile("file.json")
	require.NoError(t, err)
	return out
}

// Value is a node of YAML as an editor hands it to a schema: days are texts, numbers numbers.
func Value(n *yaml.Node) any {
	switch {
	case n.Kind == yaml.DocumentNode:
		return Value(n.Content[0])
	case n.Kind == yaml.MappingNode:
		m := map[string]any{}
		for i := 0; i+1 < len(n.Content); i += 2 {
			m[n.Content[i].Value] = Value(n.Content[i+1])
		}
		return m
	case n.Kind == yaml.SequenceNode:
		list := []any{}
		for _, item := range n.Content {
			list = append(list, Value(item))
		}
		return list
	case n.Tag == "!!null":
		return nil
	case n.Tag == "!!bool":
		return n.Value == "true"
	case n.Tag == "!!int" || n.Tag == "!!float":
		if f, err := strconv.ParseFloat(n.Value, 64); err == nil {
			return f
		}
	}
	return n.Value
}

// Parsed is a file as a node of YAML.
func Parsed(t require.TestingT, data []byte) *yaml.Node {
	var doc yaml.Node
	require.NoError(t, yaml.Unmarshal(data, &doc))
	return &doc
}

// Mutate changes one place of a document and says how.
func Mutate(t *rapid.T, doc *yaml.Node) string {
	type place struct {
		in   *yaml.Node
		at   int
		path string
	}
	var places []place
	var walk func(n *yaml.Node, path string)
	walk = func(n *yaml.Node, path string) {
		for i, c := range n.Content {
			switch {
			case n.Kind == yaml.MappingNode && i%2 == 0:
				continue
			case n.Kind == yaml.MappingNode:
				places = append(places, place{n, i, path + "." + n.Content[i-1].Value})
			case n.Kind == yaml.SequenceNode:
				places = append(places, place{n, i, fmt.Sprintf("%s[%d]", path, i)})
			}
			if len(places) > 0 {
				walk(c, places[len(places)-1].path)
			} else {
				walk(c, path)
			}
		}
	}
	walk(doc, "")
	p := places[rapid.IntRange(0, len(places)-1).Draw(t, "place")]
	how := rapid.SampledFrom([]string{"delete", "rename", "word", "figure", "yes", "nothing", "list", "mapping", "quote"}).Draw(t, "how")
	scalar := func(tag, value string) *yaml.Node { return &yaml.Node{Kind: yaml.ScalarNode, Tag: tag, Value: value} }
	value := &p.in.Content[p.at]
	switch how {
	case "delete":
		from := p.at
		if p.in.Kind == yaml.MappingNode {
			from--
		}
		p.in.Content = append(p.in.Content[:from:from], p.in.Content[p.at+1:]...)
	case "rename":
		if p.in.Kind == yaml.MappingNode {
			p.in.Content[p.at-1] = scalar("!!str", p.in.Content[p.at-1].Value+"_x")
		}
	case "word":
		*value = scalar("!!str", "no_such_word")
	case "figure":
		*value = scalar("!!float", "7.5")
	case "yes":
		*value = scalar("!!bool", "true")
	case "nothing":
		*value = scalar("!!null", "null")
	case "list":
		*value = &yaml.Node{Kind: yaml.SequenceNode, Content: []*yaml.Node{scalar("!!int", "1")}}
	case "mapping":
		*value = &yaml.Node{Kind: yaml.MappingNode, Content: []*yaml.Node{scalar("!!str", "no_such_key"), scalar("!!int", "1")}}
	case "quote":
		if (*value).Kind == yaml.ScalarNode {
			*value = &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: (*value).Value, Style: yaml.DoubleQuotedStyle}
		}
	}
	return how + " at " + p.path
}
