package rules

import (
	_ "embed"
	"slices"
	"sync"

	"go.yaml.in/yaml/v3"

	"drillwright/catalog/authored"
)

// Kinds of file, by top key. about may stand beside another key.
var (
	ofCatalogue = []string{"vocabulary", "blocks", "drills"}
	ofFrame     = []string{"screening", "ladders", "measures"}
	ofBook      = []string{"sources", "rules", "doses", "cautions", "plans", "substitute", "about", "review"}
	kinds       = slices.Concat(ofCatalogue, ofFrame, ofBook, ofCases)
)

// wholeKinds are those of an edition of the first format. A draft that has them all lacks nothing but what later formats added: it
// is a whole edition, and says its format itself.
var wholeKinds = []string{"vocabulary", "drills", "screening", "ladders", "measures", "rules", "doses", "cautions", "plans", "substitute"}

// listed are the kinds that are known by their looks, wherever they stand.
var listed = authored.Kinds{Begin: "begin with rules:, doses:, drills: or another key", Kinds: []authored.Kind{
	{Top: "rules", Mark: "effect", Thing: "a rule"},
	{Top: "doses", Mark: "dose", Thing: "a dose"},
	{Top: "plans", Mark: "slots", Thing: "a session plan"},
	{Top: "ladders", Mark: "rungs", Thing: "a ladder"},
	{Top: "screening", Mark: "questions", Thing: "a list of questions"},
	{Top: "drills", Mark: "variant_of", Thing: "a drill"},
	{Top: "drills", Mark: "pattern", Thing: "a drill"},
	{Top: "drills", Mark: "regions", Thing: "a drill"},
}}

// newDecoder starts to read files of an edition.
func newDecoder() *authored.Decoder {
	d := authored.NewDecoder()
	d.Kinds, d.Trees = listed, trees()
	return d
}

// trees are the files that come with the program, parsed; a test holds that they are those of today.
var trees = sync.OnceValue(func() *authored.Trees { return authored.UnpackTrees(packedTrees) })

//go:generate go run ../server/internal/treegen
//go:embed trees.bin
var packedTrees string

// misplaced reports the items of a list that belong under another top key, and takes them out of it.
func misplaced(d *authored.Decoder, top string, list *yaml.Node) {
	if list.Kind != yaml.SequenceNode || !slices.Contains([]string{"rules", "doses", "plans", "ladders", "screening", "cautions"}, top) {
		return
	}
	list.Content = slices.DeleteFunc(list.Content, func(item *yaml.Node) bool {
		kind := d.Kinds.Of(item)
		if kind == nil || kind.Top == top || kind.Top == "drills" && top == "plans" {
			return false
		}
		d.Suggest(d.At(item), "put it under "+kind.Top+":", "%s stands under %s:", kind.Thing, top)
		return true
	})
}
